"""`growsim page [ROOM]`."""

from __future__ import annotations

import argparse
from importlib.util import find_spec
from pathlib import Path

from growsim.cli.options import whole_number

NEEDS = {"starlette": "starlette", "uvicorn": "uvicorn", "python_multipart": "python-multipart"}


def run(chosen: argparse.Namespace) -> int:
    """Serve the page until Ctrl-C."""
    from growsim.errors import InputError

    missing = [name for module, name in NEEDS.items() if find_spec(module) is None]
    if missing:
        raise InputError(
            f"growsim page: {', '.join(missing)} {'is' if len(missing) == 1 else 'are'} not installed; in "
            "growsim's own folder, run `.venv/bin/pip install -e '.[page]'`."
        )
    folder, start = _where(chosen.room, chosen.folder)
    from growsim.web.server import listen, serve

    serve(folder, listen(chosen.port), start=start, browser=not chosen.no_browser)
    return 0


def _where(room: Path | None, folder: Path | None) -> tuple[Path, str]:
    """The folder whose rooms are shown, and the page to begin with."""
    from growsim.errors import InputError

    if room is None:
        chosen = folder if folder is not None else Path()
        if not chosen.is_dir():
            raise InputError(f"{chosen}: is not a folder; give the folder in which your rooms lie, or are to lie.")
        return chosen, "/"
    from urllib.parse import quote

    from growsim.scenario.load import MAKE_ONE, ROOM_FILE, room_path
    from growsim.scenario.reading import whole_file
    from growsim.web.folder import Folder

    whole_file(room_path(room), or_else=MAKE_ONE)  # says why where it cannot be read
    file = room_path(room).resolve()
    home = file.parent if file.name == ROOM_FILE else file
    around = folder.resolve() if folder is not None else home.parent
    if home.parent != around:
        raise InputError(f"--folder: {room} does not lie in {folder}; leave --folder out, or name a room in it.")
    found = Folder(around).room(home.name)
    return around, f"/rooms/{quote(found.name, safe='')}"


def arguments(parser: argparse.ArgumentParser) -> None:
    """The options that are its own."""
    parser.add_argument(
        "room", type=Path, nargs="?", metavar="ROOM", help="the room to begin with (default: a list of rooms)"
    )
    parser.add_argument(
        "--folder",
        type=Path,
        metavar="DIR",
        help="where rooms lie and new ones are put; nothing outside it is touched (default: where ROOM lies, or else "
        "this folder)",
    )
    parser.add_argument(
        "--port",
        type=whole_number("port", 1024, 65_535),
        metavar="N",
        help="port of this computer the page answers on (default: the first free one from 8600)",
    )
    parser.add_argument("--no-browser", action="store_true", help="only say where the page is; open no browser")
