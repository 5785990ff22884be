"""Addresses of answers that somebody made up: a clear page, never a fault of ours, never a file of another folder."""

from __future__ import annotations

import http.client
from collections.abc import Iterator
from pathlib import Path
from urllib.parse import quote, quote_from_bytes

import httpx
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from page_served import folder_with_tiny, pretender, served, wait_for

WORDS = [
    "rooms",
    "tiny",
    "answers",
    "0001-crew",
    "0001-rehearse",
    "files",
    "days",
    "state",
    "tables.xlsx",
    "report.html",
]
WORDS += [
    "..",
    ".",
    "",
    "side-by-side",
    "keep",
    "ask",
    "records",
    "%2e%2e",
    "..%2f..",
    "room.toml",
    "run.json",
    "asked",
]
ANY_TEXT = st.text(alphabet=st.characters(exclude_categories=["Cs"]), max_size=8).map(quote)
PIECES = st.sampled_from([*WORDS, "?day=1", "%00"]) | ANY_TEXT | st.binary(max_size=4).map(quote_from_bytes)


@pytest.fixture(scope="module")
def client(tmp_path_factory: pytest.TempPathFactory) -> Iterator[httpx.Client]:
    """A page with one answer."""
    children = pretender()
    folder: Path = folder_with_tiny(tmp_path_factory.mktemp("rooms"))
    with served(folder, begin_child=children) as client:
        client.post("/rooms/tiny/ask/crew", data={})
        wait_for(lambda: children.begun, 10)[0].answer()
        wait_for(lambda: client.get("/rooms/tiny/answers/0001-crew/state").json()["over"], 10)
        assert client.get("/rooms/tiny/answers/0001-crew").status_code == 200
        yield client


def fetched(client: httpx.Client, method: str, address: str) -> tuple[int, bytes]:
    """What comes back from an address sent as it stands."""
    line = http.client.HTTPConnection(client.base_url.host, client.base_url.port or 80, timeout=20)
    try:
        line.request(method, address, headers={"Origin": str(client.base_url).rstrip("/")})
        answer = line.getresponse()
        return answer.status, answer.read()
    finally:
        line.close()


@settings(max_examples=150, deadline=None)
@given(pieces=st.lists(PIECES, max_size=7), method=st.sampled_from(["GET", "GET", "GET", "HEAD", "POST", "PUT"]))
def test_any_address(client: httpx.Client, pieces: list[str], method: str) -> None:
    """Whatever is asked for is there, or is told not to be."""
    address = "/rooms/tiny/answers/" + "/".join(pieces)
    status, said = fetched(client, method, address)

    assert status < 500, address
    assert b'"asked_at"' not in said
    assert b"people_at_once =" not in said


@settings(max_examples=60, deadline=None)
@given(left=st.text(max_size=20), right=st.text(max_size=20), day=st.text(max_size=20), again=st.text(max_size=20))
def test_any_words_behind_the_question_mark(client: httpx.Client, left: str, right: str, day: str, again: str) -> None:
    """They choose, or are told to be wrong."""
    for address, words in (
        ("answers/side-by-side", {"left": left, "right": right}),
        ("answers/0001-crew/days", {"day": day, "part": ""}),
        ("ask/crew", {"again": again, "change": left}),
        ("records", {"dates": left, "from": right, "until": day}),
    ):
        query = "&".join(f"{name}={quote(value, errors='replace')}" for name, value in words.items())
        assert fetched(client, "GET", f"/rooms/tiny/{address}?{query}")[0] < 500
