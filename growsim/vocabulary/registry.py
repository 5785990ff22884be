"""What a module must have for each row of a list of words, such as a function: looked up by key, checked at import."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from typing import TypeVar

Of = TypeVar("Of")


def of_each(what: str, keys: Iterable[str], given: Mapping[str, Of], where: str) -> Mapping[str, Of]:
    """What is given for each key. Raises LookupError, in one sentence, where a key has nothing.

    what: of which the keys are, such as "machine kind". where: the module, and what it must have.
    """
    missing = [f"'{key}'" for key in keys if key not in given]
    if missing:
        raise LookupError(f"there is nothing for the {what} {' and '.join(missing)} in {where}; add it there")
    return given
