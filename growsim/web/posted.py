"""What a form sends, read with limits: how many fields, how long, how large an upload. Nothing sent is ever run."""

from __future__ import annotations

import io

from starlette.datastructures import FormData, UploadFile
from starlette.exceptions import HTTPException
from starlette.requests import Request

from growsim.errors import InputError
from growsim.web.guard import MOST_BYTES

MOST_FIELDS = 20_000
MOST_FILES = 20


async def sent_form(request: Request) -> FormData:
    """The form that was sent. Raises InputError where it cannot be read."""
    try:
        form = await request.form(max_files=MOST_FILES, max_fields=MOST_FIELDS, max_part_size=MOST_BYTES)
        return FormData([(name, await _in_memory(value)) for name, value in form.multi_items()])
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
