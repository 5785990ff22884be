"""The page on a port of this computer, and the browser that opens it."""

from __future__ import annotations

import contextlib
import socket
import threading
import webbrowser
from pathlib import Path

from growsim.errors import InputError

ADDRESS = "127.0.0.1"


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
    print(f"The page is at {address}\nClose it with Ctrl-C; what is saved stays.", flush=True)
    if browser:
        threading.Thread(target=webbrowser.open, args=(address,), daemon=True).start()
    with contextlib.suppress(KeyboardInterrupt):  # Ctrl-C is how it is meant to end
        uvicorn.Server(settings).run(sockets=[listening])
    print("The page is closed.", flush=True)
