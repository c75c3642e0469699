"""How long the search of a line may take: what takes longer is stopped, so that nothing hangs.

In: the length of the sound that is searched. Within `patience`, each pass of the recogniser and each second look asks
`check_patience` before it begins. A pass that runs is not broken off: one takes at most a tenth of the length (the
slowest measured, 30 s of noise and 250 words in it, 1.7 s).

The limit is by the clock and far above what a line needs (0.3 of its length; before it is refused 5 times), so that
whether a line is done does not hang on the machine.
"""

from __future__ import annotations

import time
from collections.abc import Iterator
from contextlib import contextmanager
from contextvars import ContextVar

from lipsync.timing import seconds_of

TIMES = 20  # chosen, see above
ALWAYS_S = 60  # chosen: for short lines on a busy machine

_until_s: ContextVar[float | None] = ContextVar("until_s", default=None)


class OutOfPatienceError(Exception):
    """The search takes too long."""


@contextmanager
def patience(duration_us: int) -> Iterator[None]:
    """Let what is searched within take `TIMES` its length and `ALWAYS_S`; a limit that is set already stays.

    Raises:
        OutOfPatienceError: at the first pass after that.
    """
    outer_s = _until_s.get()
    token = _until_s.set(outer_s or time.monotonic() + TIMES * seconds_of(duration_us) + ALWAYS_S)
    try:
        yield
    finally:
        _until_s.reset(token)


def check_patience() -> None:
    """Stop a search that has taken too long.

    Raises:
        OutOfPatienceError: if it has.
    """
    until_s = _until_s.get()
    if until_s is not None and time.monotonic() > until_s:
        raise OutOfPatienceError
