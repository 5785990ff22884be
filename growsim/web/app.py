"""The house of the page: `make_app` puts the parts together.

A part is a module of this package with ROUTES, a list of Starlette routes; and, where something lives as long as the
page does, `alive(app)`, an async context manager. Handlers raise InputError for what a person can correct: the page
then says so in the same sentence. Whatever else goes wrong is a page too, never a trace.
"""

from __future__ import annotations

import importlib
from collections.abc import AsyncIterator
from contextlib import AsyncExitStack, asynccontextmanager, nullcontext
from pathlib import Path
from types import ModuleType
from typing import Any

from starlette.applications import Starlette
from starlette.exceptions import HTTPException
from starlette.middleware import Middleware
from starlette.requests import Request
from starlette.responses import Response
from starlette.routing import BaseRoute, Mount
from starlette.staticfiles import StaticFiles
from starlette.types import ASGIApp, Receive, Scope, Send

from growsim.errors import InputError
from growsim.scenario.load import told_as_in
from growsim.web.folder import Folder, NotHereError
from growsim.web.guard import Guard, TooLargeError
from growsim.web.pages import refused

PARTS = (
    "rooms.routes",
    "rooms.removal",
    "walk.routes",
    "forms.routes",
    "changes.routes",
    "ask.counting",
    "ask.routes",
    "runs.routes",
    "answers.routes",
    "days.routes",
    "records.routes",
    "shift.routes",
)


def make_app(folder: Path, *, port: int = 8600, **settings: Any) -> Starlette:
    """The page over the rooms of a folder, answering on a port of this computer.

    settings: kept on `app.state.settings` for the parts (such as how many workers a run may use).
    """
    parts = [importlib.import_module(f"growsim.web.{name}") for name in PARTS]
    routes: list[BaseRoute] = [route for part in parts for route in part.ROUTES]
    static = StaticFiles(packages=[("growsim.web", "static")])
    app = Starlette(
        routes=[*routes, Mount("/static", app=static, name="static")],
        middleware=[Middleware(Guard, port=port, refuse=refused), Middleware(ToldAsInItsRoom, folder=Folder(folder))],
        exception_handlers={
            InputError: _wrong_input,
            HTTPException: _http,
            Exception: _our_fault,
        },
        lifespan=_lifespan(parts),
    )
    app.state.folder = Folder(folder)
    app.state.settings = settings
    return app


class ToldAsInItsRoom:
    """Tells every page of a room in that room's units, and with its order of dates."""

    def __init__(self, app: ASGIApp, folder: Folder) -> None:
        self.app, self.folder = app, folder

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Answer one request."""
        steps = scope.get("path", "").split("/")
        try:
            room = self.folder.room(steps[2]) if steps[1:2] == ["rooms"] and len(steps) > 2 else None
        except NotHereError:
            room = None
        with nullcontext() if room is None else told_as_in(room.file):
            await self.app(scope, receive, send)


def _lifespan(parts: list[ModuleType]) -> Any:
    @asynccontextmanager
    async def lifespan(app: Starlette) -> AsyncIterator[None]:
        async with AsyncExitStack() as stack:
            for part in parts:
                if hasattr(part, "alive"):
                    await stack.enter_async_context(part.alive(app))
            yield

    return lifespan


def _wrong_input(request: Request, fault: Exception) -> Response:
    status = 404 if isinstance(fault, NotHereError) else 413 if isinstance(fault, TooLargeError) else 400
    return refused(request, status, str(fault))


def _http(request: Request, fault: Exception) -> Response:
    assert isinstance(fault, HTTPException)
    if fault.status_code == 404:
        return refused(request, 404, "There is no such page.", heading="Not found")
    if fault.status_code == 405:
        return refused(request, 405, "This page cannot be asked for in that way; go back and use its buttons.")
    return refused(request, fault.status_code, f"{fault.detail}.")


def _our_fault(request: Request, fault: Exception) -> Response:
    what = f"{type(fault).__name__}: {' '.join(str(fault).split()) or 'no more is known'}"
    return refused(
        request,
        500,
        f"This is our fault, not yours: growsim met something unforeseen ({what}).\n"
        "Nothing that was saved is lost. Go back and try again; if it happens again, tell growsim's developers.",
        heading="Our fault",
    )
