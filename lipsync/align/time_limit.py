"""How long the search of a line may take: a longer search is stopped, so that the program never hangs.

In: the length of the sound that is searched. Within `patience`, each pass of the recogniser and each second look
calls `check_patience` before it begins. A pass that has begun is not interrupted, for it takes at most a tenth of the
length of the sound (the slowest measured: 1.7 s for 250 words in 30 s of noise).

The limit is in seconds of the clock. It is far above what a line needs (0.3 of its length; 5 times its length for a
line that is rejected in the end), so that a slow machine finds the same lines as a fast one.
"""

from __future__ import annotations

import time
from collections.abc import Iterator
from contextlib import contextmanager
from contextvars import ContextVar

from lipsync.timing import seconds_of

TIMES = 20  # chosen, see above: times the length of the sound
ALWAYS_S = 60  # chosen: added for each line, for short lines on a busy machine

_until_s: ContextVar[float | None] = ContextVar("until_s", default=None)


class OutOfPatienceError(Exception):
    """The search takes too long."""


@contextmanager
def patience(duration_us: int) -> Iterator[None]:
    """Limit the searches inside the `with` block to `TIMES` the duration plus `ALWAYS_S`; an outer limit stays.

    Raises:
        OutOfPatienceError: from the first pass that would begin after the limit.
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
        OutOfPatienceError: if the limit has passed.
    """
    until_s = _until_s.get()
    if until_s is not None and time.monotonic() > until_s:
        raise OutOfPatienceError
