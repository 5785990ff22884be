"""`growsim page --icon`: an icon on the desktop that opens the page, so that no command has to be typed again.

Windows gets a command file, macOS a .command, Linux a .desktop entry (Desktop Entry Specification, freedesktop.org):
plain texts, each of which names this Python, growsim, and the folder of rooms.
"""

from __future__ import annotations

import os
import re
import shlex
import sys
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from importlib.resources import files
from pathlib import Path

from growsim.errors import InputError, OutputError
from growsim.run.writing import write_bytes

_OURS = "growsim page"  # stands in every icon of ours


@dataclass(frozen=True)
class Icon:
    """An icon as it is to be written. executable: whether the system starts it only with that right."""

    name: str
    text: str
    executable: bool
    told: str


def icon_for(platform: str, words: Sequence[str], folder: Path, picture: Path) -> Icon:
    """The icon of a system (as `sys.platform` has it). words: of the command, each one word of it."""
    title = ("growsim " + re.sub(r"[^\w .-]", " ", folder.name).strip()).strip()
    if platform == "win32":
        line = " ".join('"' + word.replace("%", "%%") + '"' for word in words)
        text = f"@rem {_OURS}\n@chcp 65001 >nul\n@title {title}\n@{line}\n@if errorlevel 1 pause\n"
        return Icon(f"{title}.cmd", text.replace("\n", "\r\n"), False, "Close its window to close the page.")
    if platform == "darwin":
        text = f"#!/bin/sh\n# {_OURS}\nexec {shlex.join(words)}\n"
        return Icon(f"{title}.command", text, True, "Close its window to close the page.")
    line = " ".join(_quoted(word) for word in words)
    text = (
        f"[Desktop Entry]\n# {_OURS}\nType=Application\nVersion=1.0\nName={title}\n"
        f"Comment=Rehearse a grow room in the browser\nExec={line}\nIcon={_escaped(str(picture))}\nTerminal=true\n"
    )
    told = "Some desktops ask once whether it may start (right-click, Allow Launching). Close its window to close "
    return Icon(f"{title}.desktop", text, True, f"{told}the page.")


def _quoted(word: str) -> str:
    """A word of Exec: in quotes, with what a quote must not hold behind a backslash, then escaped as any value."""
    inside = re.sub(r'(["`$\\])', r"\\\1", word).replace("%", "%%")
    return _escaped(f'"{inside}"')


def _escaped(value: str) -> str:
    return value.replace("\\", "\\\\")


def desktop_of(platform: str, home: Path, surroundings: Mapping[str, str]) -> Path:
    """Where the desktop lies. Raises InputError where there is none."""
    places = [home / "Desktop"]
    if platform == "win32" and surroundings.get("OneDrive"):
        places.insert(0, Path(surroundings["OneDrive"]) / "Desktop")
    if platform not in ("win32", "darwin"):
        places = [*_named_by_xdg(home, surroundings), *places]
    found = next((place for place in places if place.is_dir()), None)
    if found is None:
        raise InputError(
            f"--icon: there is no desktop at {places[0]}; make that folder, or start the page with `growsim page`."
        )
    return found


def _named_by_xdg(home: Path, surroundings: Mapping[str, str]) -> list[Path]:
    """What user-dirs.dirs calls the desktop, in the language of the system."""
    settings = Path(surroundings.get("XDG_CONFIG_HOME") or home / ".config") / "user-dirs.dirs"
    try:
        found = re.search(r'(?m)^XDG_DESKTOP_DIR="(.+)"$', settings.read_text(encoding="utf-8"))
    except (OSError, ValueError):
        return []
    return [Path(found[1].replace("$HOME", str(home)))] if found else []


def put_icon(room: Path | None, folder: Path) -> tuple[Path, str]:
    """Put the icon on this computer's desktop. room: to begin with, in that folder, or None for a list of rooms.

    Gives the file, and what to know of it. Raises InputError.
    """
    words = [sys.executable, "-P", "-m", "growsim", "page"]
    words += [str(room.absolute())] if room is not None else ["--folder", str(folder.resolve())]
    picture = Path(str(files("growsim.web").joinpath("static", "icon.svg")))
    icon = icon_for(sys.platform, words, folder.resolve(), picture)
    file = desktop_of(sys.platform, Path.home(), os.environ) / icon.name
    try:
        if file.is_symlink() or (file.exists() and _OURS not in file.read_text(encoding="utf-8", errors="replace")):
            raise OutputError(f"{file}: is there already and not of growsim; rename or remove it first.")
        write_bytes(file, icon.text.encode("utf-8"))
        if icon.executable:
            file.chmod(file.stat().st_mode | 0o111)
    except OSError as refusal:
        why = (refusal.strerror or "refused by the system").lower()
        raise OutputError(f"{file}: cannot be written ({why}); start the page with `growsim page`.") from refusal
    return file, icon.told
