"""Who may ask, and how much: only a browser on this computer, and only from a page of ours. Every answer carries the
strict rules, and what a form sends is read with limits; nothing sent is ever run.

The Host header is checked, so that no other name can be made to point here (DNS rebinding). Whatever changes something
must come from our own page, by the Origin header, or, where a browser leaves that out, by Sec-Fetch-Site (Fetch
standard, fetch.spec.whatwg.org, and Fetch Metadata, w3.org/TR/fetch-metadata). Referrer-Policy is `same-origin`, not
`no-referrer`: nothing is told to other sites either way, and under `no-referrer` a browser sends `Origin: null` with
our own forms, which could not be told from a stranger's. A body is refused as soon as it grows past the limit.
"""

from __future__ import annotations

import io
import logging
from collections.abc import Callable

from starlette.datastructures import FormData, Headers, MutableHeaders, UploadFile
from starlette.exceptions import HTTPException
from starlette.requests import ClientDisconnect, Request
from starlette.responses import Response
from starlette.types import ASGIApp, Message, Receive, Scope, Send

from growsim.errors import InputError

LOOPBACK = ("127.0.0.1", "localhost", "[::1]")
MOST_BYTES = 12_000_000
_READING = ("GET", "HEAD")
_POLICY = (
    "default-src 'none'; style-src 'self'; script-src 'self'; img-src 'self' data:; connect-src 'self'; "
    "form-action 'self'; base-uri 'none'; frame-ancestors 'none'"
)
_HEADERS = {
    "Content-Security-Policy": _POLICY,
    "X-Content-Type-Options": "nosniff",
    "X-Frame-Options": "DENY",
    "Referrer-Policy": "same-origin",
    "Cross-Origin-Opener-Policy": "same-origin",
    "Cross-Origin-Resource-Policy": "same-origin",
    "Permissions-Policy": "camera=(), microphone=(), geolocation=()",
    "Cache-Control": "no-store",
}
logging.getLogger("python_multipart").setLevel(logging.ERROR)  # a form it cannot read is told on the page
MOST_FIELDS = 20_000
MOST_FILES = 20


class TooLargeError(InputError):
    """More was sent than a room or a record can need."""


class Guard:
    """Turns strangers away and adds the rules to every answer; an answer's own Content-Security-Policy is kept."""

    def __init__(self, app: ASGIApp, *, port: int, refuse: Callable[[Request, int, str], Response]) -> None:
        self.app = app
        self.refuse = refuse
        self.hosts = {f"{name}:{port}" for name in LOOPBACK} | (set(LOOPBACK) if port == 80 else set())

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """One request."""
        if scope["type"] != "http":
            if scope["type"] == "lifespan":
                await self.app(scope, receive, send)
            return

        async def send_with_rules(message: Message) -> None:
            if message["type"] == "http.response.start":
                headers = MutableHeaders(scope=message)
                for name, value in _HEADERS.items():
                    headers.setdefault(name, value)
            await send(message)

        why = self._why_not(scope["method"], Headers(scope=scope))
        if why:
            answer = self.refuse(Request(scope, receive), 403, why)
            await answer(scope, receive, send_with_rules)
            return
        await self.app(scope, _limited(receive), send_with_rules)

    def _why_not(self, method: str, headers: Headers) -> str:
        """Why this request is turned away; '' where it is not."""
        hosts = [host.lower() for host in headers.getlist("host")]
        if len(hosts) != 1 or hosts[0] not in self.hosts:
            return "This page answers only to its own address on this computer."
        if method in _READING:
            return ""
        origin, site = headers.get("origin"), headers.get("sec-fetch-site")
        if site not in (None, "same-origin"):
            return "What was sent came from another site, so nothing was done."
        if origin is not None and origin.lower() != f"http://{hosts[0]}":
            return "What was sent came from another site, so nothing was done."
        if origin is None and site is None:
            return "What was sent does not say which page it came from, so nothing was done."
        return ""


def _limited(receive: Receive) -> Receive:
    """A request's body, counted as it comes."""
    got = 0

    async def counted() -> Message:
        nonlocal got
        message = await receive()
        got += len(message.get("body", b""))
        if got > MOST_BYTES:
            raise TooLargeError(f"More than {MOST_BYTES // 1_000_000} MB was sent; a room or a record is far smaller.")
        return message

    return counted


async def sent_form(request: Request, most_files: int = MOST_FILES) -> FormData:
    """The form that was sent, with at most so many files. Raises InputError where it cannot be read."""
    try:
        form = await request.form(max_files=most_files, max_fields=MOST_FIELDS, max_part_size=MOST_BYTES)
        return FormData([(name, await _in_memory(value)) for name, value in form.multi_items()])
    except ClientDisconnect:  # nobody is there to read this; without it the terminal would show a trace
        raise InputError("What was sent broke off on its way, so nothing was done.") from None
    except HTTPException as refusal:
        raise InputError(f"What was sent could not be read as a form ({refusal.detail}).") from None
    except (UnicodeDecodeError, ValueError, KeyError):
        raise InputError("What was sent could not be read as a form.") from None


def text_of(form: FormData, name: str) -> str:
    """A field's text, with line ends as on this computer; '' where it was not sent or is a file."""
    value = form.get(name)
    return value.replace("\r\n", "\n") if isinstance(value, str) else ""


def uploads_of(form: FormData, name: str) -> list[UploadFile]:
    """The files sent under a name; an empty choice of file counts for nothing."""
    return [value for value in form.getlist(name) if isinstance(value, UploadFile) and value.filename]


async def _in_memory(value: UploadFile | str) -> UploadFile | str:
    """An upload as bytes in memory (the guard has limited them all together), its temporary file closed and gone."""
    if isinstance(value, str):
        return value
    content = await value.read()
    await value.close()
    return UploadFile(io.BytesIO(content), size=len(content), filename=value.filename, headers=value.headers)
