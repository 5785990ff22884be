"""A progress bar with the time left: on stderr, and only where a person is looking; or a file, for who attends."""

from __future__ import annotations

import sys
from collections.abc import Iterator
from contextlib import contextmanager
from typing import TextIO

from growsim.run.attended import ProgressFile, progress_file
from growsim.run.rehearsers import Progress

LAYOUT = "{desc}: {percentage:3.0f}% |{bar}| {n_fmt} of {total_fmt} {unit}, {remaining} left"


@contextmanager
def progress_bar(label: str, unit: str = "years", stream: TextIO | None = None) -> Iterator[Progress]:
    """A callback for (done, total). Draws nothing unless `stream` (stderr by default) is a terminal.

    Where another program attends (see `attended`), it is told through its file instead.
    """
    attended = progress_file()
    if attended is not None:
        yield ProgressFile(attended, label, unit).tell
        return
    stream = sys.stderr if stream is None else stream
    if not stream.isatty():
        yield lambda done, total: None
        return
    from tqdm import tqdm

    with tqdm(
        total=1, desc=label, unit=unit, file=stream, leave=False, dynamic_ncols=True, bar_format=LAYOUT, delay=1e-9
    ) as bar:  # the delay keeps it from drawing before the true total is known

        def move(done: int, total: int) -> None:
            bar.total = total
            bar.update(done - bar.n)
            if done == total:
                bar.refresh()

        yield move
