"""Two windows at once: the second save is refused, both versions are shown, and nothing that was typed is lost."""

from __future__ import annotations

from starlette.requests import Request
from starlette.responses import Response

from growsim.web.checking import Checked
from growsim.web.folder import NotHereError, RoomFolder
from growsim.web.forms.boxes import SENT
from growsim.web.forms.entries import Spot, spot_at, table_at, value_at
from growsim.web.forms.field import Field
from growsim.web.forms.page import CHANGED, after_edits, asked_edits, form_page, titles_of
from growsim.web.forms.submitted import Sent
from growsim.web.forms.tree import Builder, flat
from growsim.web.pages import shown
from growsim.web.saving import seen_by


def conflict(request: Request, room: RoomFolder, now: Checked, sent: Sent, fingerprint: str, entry: str) -> Response:
    """The form again, on the file as it is now, with what was typed in this window, and both versions side by side.

    fingerprint, entry: of the file, and the name of the entry, that this window had been shown.
    """
    raw = now.raw or {}
    text = request.path_params["path"]
    found = _where_now(text, raw, entry)
    if found is None:
        return shown(request, "gone.html", room=room, status=CHANGED, entry=entry or text, typed=sent.typed())
    spot, old_path = found
    base = seen_by(request.app).tables(fingerprint)
    if base is not None:
        try:
            old = spot_at(text, base)
        except NotHereError:
            base = None
        else:
            table = table_at(base, old.path) if old.path else base
            sent = sent.changed_from(old.model, old.path, table)
    sent = sent.moved(old_path, spot.path)
    after = after_edits(room, now, asked_edits(spot, raw, sent))
    mine = _fields(spot, Builder(raw, sent=sent, after=after.raw))
    theirs = _fields(spot, Builder(raw))
    differing = [
        (field.label, said(theirs[name]) if name in theirs else "not there", said(field))
        for name, field in mine.items()
        if name not in theirs or theirs[name].boxes != field.boxes
    ]
    return form_page(request, room, now, spot, sent=sent, after=after, status=CHANGED, theirs=differing)


def _where_now(text: str, raw: dict[str, object], entry: str) -> tuple[Spot, tuple[str | int, ...]] | None:
    """The page of the same entry in the file as it is now, and the path the fields were sent under; None if gone."""
    steps = text.split("/")
    if not steps[-1].isdecimal():
        spot = spot_at(text, raw)
        return spot, spot.path
    listed = "/".join(steps[:-1])
    titles = titles_of(value_at(raw, spot_at(listed, raw).path))
    place = int(steps[-1][:6])
    if place >= len(titles) or (entry and titles[place] != entry):
        if entry not in titles:
            return None
        place = titles.index(entry)
    spot = spot_at(f"{listed}/{place}", raw)
    return spot, (*spot.list_path, int(steps[-1][:6]))


def _fields(spot: Spot, builder: Builder) -> dict[str, Field]:
    if not spot.path:
        block = builder.block(spot.model, (), builder.raw, only_fields=True)
    else:
        block = builder.block(spot.model, spot.path, table_at(builder.raw, spot.path))
    return {field.name: field for field in flat(block)}


def said(field: Field) -> str:
    """What stands in a field's boxes, in a line."""
    words = dict(field.options)
    texts = [
        words.get(text, text)
        for suffix, inside in field.boxes.items()
        for text in inside
        if text and suffix != SENT and not (suffix == ":kind" and text == "fixed")
    ]
    unit = f" {field.unit}" if field.file_unit and texts else ""
    return f"{', '.join(texts)}{unit}" or "empty"
