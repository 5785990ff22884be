"""A visitor to the page, in this process: asks for pages, and sends forms as a browser would."""

from __future__ import annotations

import asyncio
from collections.abc import Iterator, Mapping, Sequence
from contextlib import contextmanager
from dataclasses import dataclass, field
from html.parser import HTMLParser
from pathlib import Path
from typing import Any

import httpx

from growsim.web.app import make_app

PORT = 8600
HOME = f"http://127.0.0.1:{PORT}"


@dataclass
class Form:
    """A form of a page. fields: (name, value) as they would be sent without change; buttons: (name, value)."""

    action: str
    method: str
    fields: list[tuple[str, str]] = field(default_factory=list)
    buttons: list[tuple[str, str]] = field(default_factory=list)

    def with_values(self, **changed: str | list[str]) -> list[tuple[str, str]]:
        """The fields with some of them filled in otherwise; keys stand for names with / as __."""
        return self.filled({name.replace("__", "/"): value for name, value in changed.items()})

    def filled(self, changed: Mapping[str, str | list[str]]) -> list[tuple[str, str]]:
        """The fields with some of them filled in otherwise."""
        kept = [(name, value) for name, value in self.fields if name not in changed]
        new = [(n, each) for n, v in changed.items() for each in (v if isinstance(v, list) else [v])]
        return kept + new


class _Forms(HTMLParser):
    def __init__(self) -> None:
        super().__init__()
        self.forms: list[Form] = []
        self._open: Form | None = None
        self._select: tuple[str, list[tuple[str, bool]]] | None = None
        self._area: tuple[str, list[str]] | None = None

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        given = {key: value or "" for key, value in attrs}
        if tag == "form":
            self._open = Form(given.get("action", ""), given.get("method", "get"))
            self.forms.append(self._open)
        if self._open is None:
            return
        if tag == "input" and given.get("type") not in ("checkbox", "radio") and "name" in given:
            line = given.get("value", "").replace("\r", "").replace("\n", "")  # a line has no line ends
            self._open.fields.append((given["name"], line))
        elif tag == "input" and "checked" in given:
            self._open.fields.append((given["name"], given.get("value", "on")))
        elif tag == "select":
            self._select = (given.get("name", ""), [])
        elif tag == "option" and self._select is not None:
            self._select[1].append((given.get("value", ""), "selected" in given))
        elif tag == "textarea":
            self._area = (given.get("name", ""), [])
        elif tag == "button":
            self._open.buttons.append((given.get("name", ""), given.get("value", "")))

    def handle_data(self, data: str) -> None:
        if self._area is not None:
            self._area[1].append(data)

    def handle_endtag(self, tag: str) -> None:
        if tag == "form":
            self._open = None
        elif tag == "select" and self._select is not None and self._open is not None:
            name, options = self._select
            chosen = [value for value, selected in options if selected] or [value for value, _ in options[:1]]
            if name and chosen:
                self._open.fields.append((name, chosen[-1]))
            self._select = None
        elif tag == "textarea" and self._area is not None and self._open is not None:
            name, pieces = self._area
            text = "".join(pieces).replace("\r\n", "\n").removeprefix("\n").replace("\n", "\r\n")  # as browsers do
            if name:
                self._open.fields.append((name, text))
            self._area = None


def forms_of(page: str) -> list[Form]:
    """Every form of a page."""
    reader = _Forms()
    reader.feed(page)
    return reader.forms


class Visitor:
    """Asks the page for things. Faults of the page's own germinate as themselves: a test sees them."""

    def __init__(self, folder: Path, runner: asyncio.Runner, **settings: Any) -> None:
        self.app = make_app(folder, port=PORT, **settings)
        self._runner = runner
        self._client = httpx.AsyncClient(transport=httpx.ASGITransport(app=self.app), base_url=HOME)

    def ask(self, method: str, address: str, **more: Any) -> httpx.Response:
        """One request, with whatever headers are given and no others of ours."""
        return self._runner.run(self._client.request(method, address, **more))

    def get(self, address: str) -> httpx.Response:
        """A page."""
        return self.ask("GET", address)

    def post(
        self, address: str, fields: Sequence[tuple[str, str]] | Mapping[str, str], *, follow: bool = False, **more: Any
    ) -> httpx.Response:
        """A form, sent from a page of ours."""
        data: dict[str, list[str]] = {}
        for name, value in fields.items() if isinstance(fields, Mapping) else fields:
            data.setdefault(name, []).append(value)
        headers = {"Origin": HOME, "Sec-Fetch-Site": "same-origin"}
        return self.ask("POST", address, data=data, headers=headers, follow_redirects=follow, **more)

    def form(self, address: str) -> Form:
        """The form of a page that sends to the page's own address."""
        page = self.get(address)
        assert page.status_code == 200, (address, page.status_code)
        own = address.partition("?")[0]
        return next(form for form in forms_of(page.text) if form.method == "post" and form.action == own)

    def save(self, address: str, **changed: str | list[str]) -> httpx.Response:
        """Fill in a page's form and press Save."""
        return self.post(address, [*self.form(address).with_values(**changed), ("do", "save")])

    def close(self) -> None:
        """Leave."""
        self._runner.run(self._client.aclose())


@contextmanager
def visit(folder: Path, **settings: Any) -> Iterator[Visitor]:
    """A visitor to the rooms of a folder."""
    with asyncio.Runner() as runner:
        visitor = Visitor(folder, runner, **settings)
        try:
            yield visitor
        finally:
            visitor.close()
