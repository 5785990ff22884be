"""`growsim page [ROOM]`: the same tool with forms and buttons, on a port of this computer, in a browser."""

from __future__ import annotations

import argparse
import contextlib
import socket
import threading
import webbrowser
from importlib.util import find_spec
from pathlib import Path

from growsim.cli.options import command_line, whole_number
from growsim.errors import InputError

ADDRESS = "127.0.0.1"
ONLY_HERE = "Only this computer can open it: it has no password, so no phone or other computer is let in."
NEEDS = {"starlette": "starlette", "uvicorn": "uvicorn", "python_multipart": "python-multipart"}


def run(chosen: argparse.Namespace) -> int:
    """Serve the page until Ctrl-C."""
    missing = [name for module, name in NEEDS.items() if find_spec(module) is None]
    if missing:
        raise InputError(
            f"growsim page: {', '.join(missing)} {'is' if len(missing) == 1 else 'are'} not installed; in "
            "growsim's own folder, run `.venv/bin/pip install -e '.[page]'`."
        )
    folder, start = _where(chosen.room, chosen.folder)
    if chosen.icon:
        from growsim.web.icon import put_icon

        file, told = put_icon(chosen.room, folder)
        print(f"{file} is on the desktop now: double-click it to open the page. {told}")
        return 0
    serve(folder, listen(chosen.port), start=start, browser=not chosen.no_browser)
    return 0


def _where(room: Path | None, folder: Path | None) -> tuple[Path, str]:
    """The folder whose rooms are shown, and the page to begin with."""
    if room is None:
        chosen = folder if folder is not None else Path()
        if not chosen.is_dir():
            raise InputError(f"{chosen}: is not a folder; give the folder in which your rooms lie, or are to lie.")
        return chosen, "/"
    from urllib.parse import quote

    from growsim.scenario.load import MAKE_ONE, ROOM_FILE, room_path
    from growsim.scenario.reading import whole_file
    from growsim.web.folder import Folder

    if room.is_dir() and not (room / ROOM_FILE).exists():
        see = command_line("page", "--folder", room)
        raise InputError(f"{room}: has no {ROOM_FILE} in it; make rooms in that folder with `{see}`.")
    whole_file(room_path(room), or_else=MAKE_ONE)  # says why where it cannot be read
    file = room_path(room).resolve()
    home = file.parent if file.name == ROOM_FILE else file
    around = folder.resolve() if folder is not None else home.parent
    if home.parent != around:
        raise InputError(f"--folder: {room} does not lie in {folder}; leave --folder out, or name a room in it.")
    found = Folder(around).room(home.name)
    return around, f"/rooms/{quote(found.name, safe='')}"


def listen(port: int | None, first: int = 8600, tries: int = 20) -> socket.socket:
    """A socket on the loopback address: on `port`, or, where that is None, on the first free one from `first` on.

    Raises InputError where there is none.
    """
    for wanted in range(first, first + tries) if port is None else (port,):
        listening = socket.socket(socket.AF_INET, socket.SOCK_STREAM, socket.IPPROTO_TCP)  # so asyncio sends at once
        listening.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
        try:
            listening.bind((ADDRESS, wanted))
        except OSError:
            listening.close()
            continue
        listening.listen(128)
        return listening
    where = f"port {port} is" if port is not None else f"ports {first} to {first + tries - 1} are all"
    raise InputError(f"--port: {where} taken by another program; give another number, e.g. --port 8700.")


def serve(folder: Path, listening: socket.socket, *, start: str = "/", browser: bool = True) -> None:
    """Serve the rooms of a folder until Ctrl-C."""
    import uvicorn

    from growsim.web.app import make_app

    port = listening.getsockname()[1]
    address = f"http://{ADDRESS}:{port}{start}"
    settings = uvicorn.Config(
        make_app(folder, port=port),
        log_level="warning",
        access_log=False,
        server_header=False,
        ws="none",
        http="h11",
        loop="asyncio",
        timeout_graceful_shutdown=2,
        lifespan="on",
    )
    print(f"The page is at {address}\n{ONLY_HERE}\nClose it with Ctrl-C; what is saved stays.", flush=True)
    if browser:
        threading.Thread(target=webbrowser.open, args=(address,), daemon=True).start()
    with contextlib.suppress(KeyboardInterrupt):  # Ctrl-C is how it is meant to end
        uvicorn.Server(settings).run(sockets=[listening])
    print("The page is closed.", flush=True)


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
    parser.add_argument(
        "--icon", action="store_true", help="put an icon on the desktop that opens the page, instead of opening it now"
    )
    parser.add_argument("--no-browser", action="store_true", help="only say where the page is; open no browser")
