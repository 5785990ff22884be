"""One field of a form: its words, its boxes, its faults, and what stands beside a box."""

from __future__ import annotations

from dataclasses import dataclass
from urllib.parse import urlencode

from growsim.errors import Fault
from growsim.units import system
from growsim.web.forms.boxes import FIGURE_PARTS, NUMBERS, Boxes, pieces_of
from growsim.web.forms.other_units import cannot_be_read, numbers_in, said_beside

BESIDE = "/in-other-unit"  # the address that says what stands beside a box
AMOUNTS = ("", *(f":{part}" for part in FIGURE_PARTS if part != "shape"), *(f":{month}" for month in range(12)))


@dataclass(frozen=True)
class Field:
    """One field.

    boxes: what stands in its boxes. options: (value, words). given: whether the file or the person says anything.
    file_unit: of amounts that may be typed in another unit too, '' for others. from_where: of a usual value, its
    source; '' for what is the planner's own.
    """

    name: str
    key: str
    label: str
    hint: str
    unit: str
    widget: str
    kind: str
    boxes: Boxes
    options: tuple[tuple[str, str], ...]
    required: bool
    usual: str
    given: bool
    faults: tuple[Fault, ...]
    file_unit: str = ""
    currency: str = ""
    from_where: str = ""

    @property
    def anchor(self) -> str:
        """Its place in the page, as ids have it."""
        return anchor_of(self.name)

    @property
    def unread(self) -> str:
        """The one sentence for an amount that cannot be read; '' where all can."""
        if not self.file_unit or not self.faults:
            return ""
        boxes = [self._typed(suffix) for suffix in self.boxes if suffix in AMOUNTS]
        read = [pair for texts in boxes for pair in zip(texts, numbers_in(texts, self.file_unit), strict=True)]
        wrong = [text for text, value in read if isinstance(value, str)]
        return cannot_be_read(wrong[0], self.file_unit, self.currency) if wrong else ""

    def beside(self, suffix: str = "") -> str:
        """What stands beside a box: what was typed in another unit, in the room's."""
        return said_beside(self._typed(suffix), self.file_unit, self.currency, spread=suffix == ":sd")

    def asks_beside(self, suffix: str = "") -> str:
        """Where the page's script asks what stands beside a box, but for what is typed."""
        asked = {"unit": self.file_unit, "currency": self.currency, "system": system()}
        asked |= {"list": "1"} if self.kind in NUMBERS and not suffix else {}
        asked |= {"spread": "1"} if suffix == ":sd" else {}
        return f"{BESIDE}?{urlencode(asked)}"

    def _typed(self, suffix: str) -> list[str]:
        text = self.box(suffix).strip()
        if not text:
            return []
        return pieces_of(text) if self.kind in NUMBERS and not suffix else [text]

    def box(self, suffix: str = "") -> str:
        """What stands in one box."""
        return next(iter(self.boxes.get(suffix, ())), "")


def anchor_of(name: str) -> str:
    """A field's name as an id."""
    return "f-" + name.replace("/", "-").replace("@", "")
