"""Who may ask: only a browser on this computer, and only from a page of ours. Every answer carries the strict rules.

The Host header is checked, so that no other name can be made to point here (DNS rebinding). Whatever changes something
must come from our own page, by the Origin header, or, where a browser leaves that out, by Sec-Fetch-Site (Fetch
standard, fetch.spec.whatwg.org, and Fetch Metadata, w3.org/TR/fetch-metadata). Referrer-Policy is `same-origin`, not
`no-referrer`: nothing is told to other sites either way, and under `no-referrer` a browser sends `Origin: null` with
our own forms, which could not be told from a stranger's. A body is refused as soon as it grows past the limit.
"""

from __future__ import annotations

from collections.abc import Callable

from starlette.datastructures import Headers, MutableHeaders
from starlette.requests import Request
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
