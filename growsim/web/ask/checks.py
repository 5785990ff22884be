"""What somebody filled in, turned into the words of a command; and, beside its field, what the command would say of it.

The command's own reader judges each field: the sentence is the command line's.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING, NoReturn

from growsim.errors import InputError
from growsim.vocabulary.questions import BY_NAME
from growsim.web.ask.questions import FILES, Field, Form

if TYPE_CHECKING:
    import argparse

LONGEST_VALUE = 200
Given = Mapping[str, Sequence[str]]


def words_of(form: Form, given: Given) -> tuple[list[str], dict[str, str]]:
    """(options of the command, what is wrong by field). Tables, changes and records are looked at elsewhere."""
    words: list[str] = []
    faults: dict[str, str] = {}
    for field in form.fields:
        if field.kind in FILES:
            continue
        text = value_of(field, given)
        if field.kind == "check":
            words += [field.option] if text else []
        elif text:
            fault = _fault(form.question.name, field, text)
            if fault:
                faults[field.name] = fault
            words += [field.option, text]
    return words, faults


def value_of(field: Field, given: Given) -> str:
    """What the field holds, trimmed."""
    values = given.get(field.name, ())
    return values[0].strip() if values else ""


def values_of(form: Form, given: Given) -> dict[str, str]:
    """What every field of the form holds, trimmed."""
    return {field.name: value_of(field, given) for field in form.fields}


def _fault(command: str, field: Field, text: str) -> str:
    if len(text) > LONGEST_VALUE:
        return f"is {len(text)} characters long; give a short answer"
    if field.kind == "choice" and text not in [value for value, _ in field.choices]:
        return f"'{text}' cannot be chosen here; choose one from the list"
    try:
        reader(command).parse_args([*_needed(command), field.option, text])
    except InputError as refusal:
        return str(refusal)
    return ""


def reader(command: str) -> argparse.ArgumentParser:
    """The command's own reader of its options. It raises InputError with its sentence instead of printing it."""
    from growsim.cli.commands import add_arguments
    from growsim.cli.door import Parser

    class Asked(Parser):
        def error(self, message: str) -> NoReturn:
            """The sentence, without the name of the option before it: it stands beside its field."""
            _, colon, sentence = message.partition(": ")
            raise InputError(sentence if colon and message.startswith("argument ") else message)

    made = Asked(prog=f"growsim {command}", add_help=False, allow_abbrev=False)
    add_arguments(made, BY_NAME[command])
    return made


def _needed(command: str) -> list[str]:
    """The files a command cannot do without, so that its reader has nothing else to refuse."""
    return [word for file in BY_NAME[command].needs for word in (["--shelves", file] if file == "shelves" else [file])]
