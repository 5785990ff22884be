"""Progress over several rounds of rehearsals, told as one."""

from __future__ import annotations

from growsim.run.rehearsers import Progress


class SharedProgress:
    """Hands out a progress callback a round.

    expected: how many there will be in all, about. sure: of these, how many come after all others, so that the end is
    never told before them. The share done, once told, does not fall again when more turn out to be needed, unless the
    end had been told already.
    """

    def __init__(self, progress: Progress | None, expected: int, sure: int = 0) -> None:
        self._progress: Progress = progress or (lambda done, total: None)
        self._expected = expected
        self._sure = sure
        self._handed_out = 0
        self._share = 0.0

    def more(self, number: int) -> Progress:
        """The callback for the next round of so many rehearsals."""
        before = self._handed_out
        self._handed_out += number
        self._expected = max(self._expected, self._handed_out + self._sure)
        return lambda done, _: self._tell(before + done)

    def spare(self, number: int) -> None:
        """So many rehearsals turn out not to be needed."""
        self._expected = max(self._handed_out, self._expected - number)

    def then(self, number: int) -> None:
        """After the next round so many follow, and no more that is known of."""
        self._sure = number
        self._expected = self._handed_out + number

    def _tell(self, done: int) -> None:
        total = self._expected
        if self._share < 1.0:
            total = max(done, min(total, int(done / self._share))) if self._share > 0.0 else total
        self._share = done / total if total else 0.0
        self._progress(done, total)
