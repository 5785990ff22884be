"""Days of the week and months, by every name they go by: in files, in full and in short."""

from __future__ import annotations

from typing import Final, Literal, get_args

Weekday = Literal["mon", "tue", "wed", "thu", "fri", "sat", "sun"]
WEEKDAYS: Final[tuple[Weekday, ...]] = get_args(Weekday)
"""As room files write them; their order is that of datetime.date.weekday()."""

WEEKDAY_NAMES: Final = ("Monday", "Tuesday", "Wednesday", "Thursday", "Friday", "Saturday", "Sunday")
SHORT_WEEKDAYS: Final = tuple(name[:3] for name in WEEKDAY_NAMES)
NAME_OF_WEEKDAY: Final[dict[str, str]] = dict(zip(WEEKDAYS, WEEKDAY_NAMES, strict=True))

MONTHS: Final = (
    "January",
    "February",
    "March",
    "April",
    "May",
    "June",
    "July",
    "August",
    "September",
    "October",
    "November",
    "December",
)
SHORT_MONTHS: Final = tuple(name[:3] for name in MONTHS)
