"""The links at the head of every page, in the planner's words."""

from __future__ import annotations

from dataclasses import dataclass
from urllib.parse import quote

# What a room offers: words, and what follows /rooms/<room>.
OF_A_ROOM: tuple[tuple[str, str], ...] = (
    ("Room", ""),
    ("Ask", "/ask"),
    ("Answers", "/answers"),
    ("Records", "/records"),
)


@dataclass(frozen=True)
class Link:
    """A link at the head. current: whether the page shown is it, or one below it."""

    words: str
    address: str
    current: bool


def address(room: str, *steps: str) -> str:
    """The address of a page of a room: address("my room", "ask") is /rooms/my%20room/ask."""
    return "/rooms/" + "/".join(quote(step, safe="") for step in (room, *steps))


def links(room: str | None, here: str) -> list[Link]:
    """The links at the head of the page at `here`, which has `room` open or none."""
    every = Link("All rooms", "/", here == "/")
    if room is None:
        return [every]
    whole = f"/rooms/{room}"
    own = [Link(words, f"/rooms/{quote(room, safe='')}{end}", False) for words, end in OF_A_ROOM]
    below = here.removeprefix(whole)
    current = max(
        (i for i, (_, end) in enumerate(OF_A_ROOM) if below.startswith(end)), key=lambda i: len(OF_A_ROOM[i][1])
    )
    return [every, *(Link(link.words, link.address, i == current) for i, link in enumerate(own))]
