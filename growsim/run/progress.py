"""A progress bar with the time left: on stderr, and only where a person is looking."""

from __future__ import annotations

import sys
from collections.abc import Iterator
from contextlib import contextmanager
from typing import TextIO

from growsim.run.rehearsers import Progress


@contextmanager
def progress_bar(label: str, unit: str = "year", stream: TextIO | None = None) -> Iterator[Progress]:
    """A callback for (done, total). Draws nothing unless `stream` (stderr by default) is a terminal."""
    stream = sys.stderr if stream is None else stream
    if not stream.isatty():
        yield lambda done, total: None
        return
    from tqdm import tqdm

    with tqdm(desc=label, unit=unit, file=stream, leave=False, dynamic_ncols=True, total=0) as bar:

        def move(done: int, total: int) -> None:
            bar.total = total
            bar.update(done - bar.n)

        yield move
