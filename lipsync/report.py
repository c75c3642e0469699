"""What a run has to say beside its results: what was not done, and what a person should know."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

from lipsync.errors import Problem
from lipsync.message import Message

# Called with what is being done, how many are done, how many there are.
Progress = Callable[[str, int, int], None]


def no_progress(what: str, done: int, total: int) -> None:
    """Show nothing."""


@dataclass(frozen=True, slots=True)
class Report:
    """Problems are what was not done; messages are what was done and should be known."""

    problems: tuple[Problem, ...] = ()
    messages: tuple[Message, ...] = ()

    def __add__(self, other: Report) -> Report:
        return Report(self.problems + other.problems, self.messages + other.messages)

    def about_shot(self, scene: str, shot: str) -> Report:
        """Return what of it is about a shot of a scene, or about one of its lines."""
        problems = tuple(one for one in self.problems if (one.scene, one.shot) == (scene, shot))
        return Report(problems, tuple(one for one in self.messages if (one.scene, one.shot) == (scene, shot)))
