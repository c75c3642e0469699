"""What a run has to say beside its results: what was not done, and what a person should know."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

from lipsync.errors import Problem

# Called with what is being done, how many are done, how many there are.
Progress = Callable[[str, int, int], None]


def no_progress(what: str, done: int, total: int) -> None:
    """Show nothing."""


@dataclass(frozen=True, slots=True)
class Report:
    """Problems are what was not done; messages are what was done and should be known."""

    problems: tuple[Problem, ...] = ()
    messages: tuple[str, ...] = ()

    def __add__(self, other: Report) -> Report:
        return Report(self.problems + other.problems, self.messages + other.messages)
