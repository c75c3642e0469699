"""A fault of the program's own in one line, picture or shot: told as that one's, and no other is held up.

In: what is done for one of many, and where that one stands. Out: the same, or a `Problem` that asks for a report.
What a person can mend keeps its own sentences; what cannot be written, and being stopped, end the run as ever.
"""

from __future__ import annotations

import traceback
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import replace
from pathlib import Path

from lipsync.errors import LipsyncError, Problem, ProblemsError
from lipsync.message import Where


@contextmanager
def spared(problems: list[Problem], where: Where) -> Iterator[None]:
    """Note what goes wrong within, and go on after it.

    Args:
        problems: what is noted is added to these.
        where: what it is done for; a problem that names no file stands there.

    Raises:
        OutputError: if a file cannot be written: the next could not be either.
    """
    try:
        yield
    except ProblemsError as error:
        for one in error.problems:
            own = one if one.file else replace(one, file=where.file, place=where.place)
            problems.append(own.within(where))
    except LipsyncError:
        raise
    except Exception as fault:
        problems.append(Problem.of("own fault", where, fault=_told(fault)))


def _told(fault: Exception) -> str:
    """Return what happened and where in the program, in one row."""
    what = " ".join(f"{type(fault).__name__}: {fault}".split())
    frames = traceback.extract_tb(fault.__traceback__)
    ours = [frame for frame in frames if "lipsync" in Path(frame.filename).parts] or frames
    return f"{what} ({Path(ours[-1].filename).name}, line {ours[-1].lineno})" if ours else what
