"""What becomes of seeds and plants: a row for each fate. Figures, tables, pictures, sentences, the words a record may
use and the documents are made from these rows.

One loss more is a row here and the line in `growsim.room` that writes it.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from typing import Final, Literal


@dataclass(frozen=True, kw_only=True)
class Fate:
    """What may become of a seed. label: says of seeds or plants what became of them, in tables and pictures. color:
    "#rrggbb"; hatch: as matplotlib names it, "" for none."""

    key: str
    label: str
    color: str
    hatch: str

    @property
    def measure(self) -> str:
        """The key of its figure in the catalogue."""
        return f"plants_{self.key}"


@dataclass(frozen=True, kw_only=True)
class Loss(Fate):
    """A fate that is no harvest.

    of: who is lost; only plants count as lost after germination. clause: goes on from "12 plants a year ...". limit:
    "waiting" where they wait too long (the log book says for what: vocabulary.obstacles), "machines" where an outage
    can cause it, else None. helps: what is done about it, as a funder is told. record_words: how a record may say it,
    the first as it is told again; None where a record counts it in another way.
    """

    of: Literal["seeds", "extra seedlings", "plants"]
    clause: str
    limit: Literal["waiting", "machines"] | None
    helps: str
    record_words: tuple[str, ...] | None

    @property
    def measure(self) -> str:
        """The key of its figure in the catalogue."""
        return f"plants_lost_{self.key}"

    @property
    def series(self) -> str:
        """Its series of weeks."""
        return f"lost:{self.key}"

    @property
    def title(self) -> str:
        """Who is lost, and how: "Plants dried out"."""
        return f"{'Seeds that' if self.of == 'seeds' else self.of.capitalize()} {self.label}"

    @property
    def record_word(self) -> str:
        """What a record calls it; "" where a record counts it in another way."""
        return self.record_words[0] if self.record_words else ""


HARVESTED: Final = Fate(key="harvested", label="harvested", color="#009e73", hatch="")
GROWING_AT_END: Final = Fate(key="growing_at_end", label="still growing at the end", color="#fffffe", hatch="")
NO_ROOM: Final = Loss(
    key="no_room",
    label="thrown away for lack of a slot",
    color="#0072b3",
    hatch="//",
    of="plants",
    clause="find no place on the shelves",
    limit="waiting",
    helps="no more is sown than the shelves can take later on",
    record_words=("no room", "no space", "no slot"),
)
DRIED_OUT: Final = Loss(
    key="dried_out",
    label="dried out",
    color="#56b4e9",
    hatch="xx",
    of="plants",
    clause="dry out",
    limit="machines",
    helps="reservoirs are filled up in time; alarms and spare parts for pumps and timers",
    record_words=("dried out", "dried", "dry", "wilted", "wilt", "drought", "no water"),
)
HEAT: Final = Loss(
    key="heat",
    label="lost to heat",
    color="#d55e01",
    hatch="++",
    of="plants",
    clause="are lost to heat",
    limit="machines",
    helps="an alarm for the cooling; lights that go out when the room grows too warm",
    record_words=("heat", "hot", "too hot", "too warm"),
)
COLD: Final = Loss(
    key="cold",
    label="lost to cold",
    color="#00508a",
    hatch="++",
    of="plants",
    clause="are lost to cold",
    limit="machines",
    helps="an alarm for the heating; spare heat for a winter outage",
    record_words=("cold", "too cold", "chilled", "frost", "frozen", "froze"),
)
OVERGROWN: Final = Loss(
    key="overgrown",
    label="overgrown",
    color="#e69f00",
    hatch="\\\\",
    of="plants",
    clause="are lost overgrown",
    limit="waiting",
    helps="harvest days and shifts on the days when plants must be moved or harvested",
    record_words=("overgrown", "bolted", "bitter", "too big", "too old"),
)
TRANSPLANTING: Final = Loss(
    key="transplanting",
    label="lost in transplanting",
    color="#cc79a7",
    hatch=".",
    of="plants",
    clause="are lost in transplanting",
    limit=None,
    helps="practice, and plugs that are moved whole",
    record_words=(
        "transplanting",
        "transplanted",
        "transplant",
        "handling",
        "handled",
        "moving",
        "broken",
        "broke",
        "dropped",
    ),
)
TOO_SMALL: Final = Loss(
    key="too_small",
    label="too small to hand out",
    color="#f0e442",
    hatch="||",
    of="plants",
    clause="are too small to hand out",
    limit=None,
    helps="more light, or a later harvest",
    record_words=("too small", "small", "stunted", "too light"),
)
THINNED: Final = Loss(
    key="thinned",
    label="thinned out",
    color="#bdbdbd",
    hatch="",
    of="extra seedlings",
    clause="are thinned out",
    limit=None,
    helps="meant so: more than one seed a cell leaves few cells empty",
    record_words=None,
)
NOT_EMERGED: Final = Loss(
    key="not_emerged",
    label="did not germinate",
    color="#e8e8e8",
    hatch="",
    of="seeds",
    clause="do not germinate",
    limit=None,
    helps="fresh seed, kept cool and dry",
    record_words=None,
)

LOSSES: Final = (NO_ROOM, DRIED_OUT, HEAT, COLD, OVERGROWN, TRANSPLANTING, TOO_SMALL, THINNED, NOT_EMERGED)
FATES: Final[tuple[Fate, ...]] = (HARVESTED, GROWING_AT_END, *LOSSES)  # in the order in which they are shown
PLANT_LOSSES: Final = tuple(loss for loss in LOSSES if loss.of == "plants")
_BY_KEY: Final = {fate.key: fate for fate in FATES}


def fate_of(key: str) -> Fate:
    """The row of a key. Raises LookupError for a key that has none."""
    if key not in _BY_KEY:
        raise LookupError(f"there is no fate {key!r}: give it a row in growsim/vocabulary/losses.py.")
    return _BY_KEY[key]


def refuse_incomplete(fates: tuple[Fate, ...]) -> None:
    """Raises ValueError, in one sentence, for the first row that lacks something or takes what is another's."""
    taken: dict[str, str] = {}
    for fate in fates:
        row = f"growsim/vocabulary/losses.py, {fate.key or fate.label}:"
        for name, value in vars(fate).items():
            if name != "hatch" and value in ("", ()):
                raise ValueError(f"{row} {name} is empty; every fate has one.")
        if not re.fullmatch("#[0-9a-f]{6}", fate.color):
            raise ValueError(f"{row} color {fate.color!r} is none; write it as #rrggbb.")
        words = fate.record_words if isinstance(fate, Loss) else None
        if isinstance(fate, Loss) and fate.of == "plants" and words is None:
            raise ValueError(f"{row} record_words is None; say how a record calls a loss of plants.")
        for name in (f"key {fate.key}", f"label {fate.label}", *(f"record word {word}" for word in words or ())):
            if name in taken:
                raise ValueError(f"{row} the {name} is taken by {taken[name]}; choose another.")
            taken[name] = fate.key


refuse_incomplete(FATES)
