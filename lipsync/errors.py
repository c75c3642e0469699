"""All errors of the program in one tree, and the exit code of each branch.

    LipsyncError
    ├── ProblemsError      one or many problems in what a person wrote or recorded, each with file and place
    │   ├── InputError     a file, a table or a setting that has to be mended first
    │   └── LineError      one recorded line that could not be done; the other lines are done
    └── OutputError        a file or folder that cannot be written

The command line catches `LipsyncError` only: a traceback always means a fault of the program.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from enum import IntEnum
from typing import Self

from lipsync.message import Message, Where


class ExitCode(IntEnum):
    """What the program tells the shell. Tests compare this table with that of lipsync/manual/production.md."""

    DONE = 0
    FAULT = 1  # a fault of the program: an exception that nobody foresaw
    USAGE = 2  # the command line was not understood (the number that shells and click use)
    INPUT = 3  # something in the input has to be mended; nothing was done
    PARTLY = 4  # some lines were not done; everything else was
    OUTPUT = 5  # a file or folder cannot be written
    INTERRUPTED = 130  # stopped from the keyboard (128 + SIGINT, the shell's own rule)


@dataclass(frozen=True, slots=True)
class Problem(Message):
    """One thing to mend: where it is, what was found, what is allowed, what to do.

    Because of it something was not done. If everything was done, and there is only something to know, it is a plain
    `Message`.
    """


class LipsyncError(Exception):
    """The root of all errors that a person can mend."""

    exit_code = ExitCode.INPUT


class ProblemsError(LipsyncError):
    """One or many problems, reported in one go.

    Args:
        problems: at least one.
    """

    def __init__(self, problems: Iterable[Problem]) -> None:
        self.problems = tuple(problems)
        super().__init__("\n".join(str(problem) for problem in self.problems))

    def __reduce__(self) -> tuple[type[Self], tuple[tuple[Problem, ...]]]:
        """Return what `pickle` makes the same error from in another process."""
        return type(self), (self.problems,)

    @classmethod
    def one(cls, file: object, place: str, text: str) -> Self:
        """Return the error for a single problem in a file, with a sentence made by the check that found it."""
        return cls([Problem(str(file), place, text)])

    @classmethod
    def of(cls, kind: str, where: Where, **facts: object) -> Self:
        """Return the error for a single problem of a kind of `wording.SENTENCES`."""
        return cls([Problem.of(kind, where, **facts)])


class InputError(ProblemsError):
    """A file, a table or a setting that has to be mended before anything can be done."""


class LineError(ProblemsError):
    """One recorded line that could not be done."""

    exit_code = ExitCode.PARTLY


class OutputError(LipsyncError):
    """A file or folder that cannot be written."""

    exit_code = ExitCode.OUTPUT
