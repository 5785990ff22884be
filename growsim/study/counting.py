"""Progress over several rounds of rehearsals, told as one."""

from __future__ import annotations

from growsim.run.rehearsers import Progress


class Counting:
    """Hands out a progress callback a round; `expected` is the most there can be in all."""

    def __init__(self, progress: Progress | None, expected: int) -> None:
        self._tell: Progress = progress or (lambda done, total: None)
        self._expected = expected
        self._handed_out = 0

    def more(self, number: int) -> Progress:
        """The callback for the next round of so many rehearsals."""
        before = self._handed_out
        self._handed_out += number
        self._expected = max(self._expected, self._handed_out)
        return lambda done, _: self._tell(before + done, self._expected)

    def spare(self, number: int) -> None:
        """So many rehearsals turn out not to be needed."""
        self._expected = max(self._handed_out, self._expected - number)
