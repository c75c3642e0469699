"""A fault in the work on one line, picture or shot is reported for that one, and the work on the others goes on.

In: the work on one of many, in a `with` block, and the place that it is about. Out: `Problem`s. Faults that a person
can mend keep their own sentences; any other exception becomes a problem that asks to report it. Files that cannot be
written, and being stopped from the keyboard, end the run.
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
    """Note what goes wrong within the block, and go on after it.

    Args:
        problems: the list to which problems are added.
        where: what the work is about; a problem that names no file gets this file and place.

    Raises:
        OutputError: if a file cannot be written: the next one could not be written either.
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
    """Return the exception, and the file and line where it was raised, as one row."""
    what = " ".join(f"{type(fault).__name__}: {fault}".split())
    frames = traceback.extract_tb(fault.__traceback__)
    ours = [frame for frame in frames if "lipsync" in Path(frame.filename).parts] or frames
    return f"{what} ({Path(ours[-1].filename).name}, line {ours[-1].lineno})" if ours else what
