"""A fault of the program's own in one line, picture or shot: told as that one's, and no other is held up.

In: what is done for one of many, and where that one stands. Out: the same, or a `Problem` that asks for a report.
What a person can mend keeps its own sentences; what cannot be written, and being stopped, end the run as ever.
"""

from __future__ import annotations

import traceback
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from lipsync.errors import LipsyncError, Problem, ProblemsError


@contextmanager
def spared(problems: list[Problem], file: object, place: str) -> Iterator[None]:
    """Note what goes wrong within, and go on after it.

    Args:
        problems: what is noted is added to these.
        file: the file in which that stands for which something is done.
        place: its place in the file.

    Raises:
        OutputError: if a file cannot be written: the next could not be either.
    """
    try:
        yield
    except ProblemsError as error:
        problems += (one if one.file else Problem(str(file), place, one.text) for one in error.problems)
    except LipsyncError:
        raise
    except Exception as fault:
        problems.append(Problem(str(file), place, own_fault(fault)))


def own_fault(fault: Exception) -> str:
    """Return what is told of a fault of the program's own: what happened, where in the program, and what to do."""
    what = " ".join(f"{type(fault).__name__}: {fault}".split())
    frames = traceback.extract_tb(fault.__traceback__)
    ours = [frame for frame in frames if "lipsync" in Path(frame.filename).parts] or frames
    where = f" ({Path(ours[-1].filename).name}, line {ours[-1].lineno})" if ours else ""
    return (
        f"was not done, by a fault of the program's own: {what}{where}; please report this sentence, with what it "
        "was done for. Everything else goes on"
    )
