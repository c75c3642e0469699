"""What a run reports beside its results: what was not done, and what a person should know."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

from lipsync.errors import Problem
from lipsync.message import Message

# Called with what is being done, how many of it are done, and how many there are.
Progress = Callable[[str, int, int], None]


def no_progress(what: str, done: int, total: int) -> None:
    """Report no progress."""


@dataclass(frozen=True, slots=True)
class Report:
    """What a person should know after a run.

    Attributes:
        problems: what was not done, each with what to mend.
        messages: what was done, and should be known.
    """

    problems: tuple[Problem, ...] = ()
    messages: tuple[Message, ...] = ()

    def __add__(self, other: Report) -> Report:
        return Report(self.problems + other.problems, self.messages + other.messages)

    def once(self) -> Report:
        """Return the same, each problem and each message once."""
        return Report(tuple(dict.fromkeys(self.problems)), tuple(dict.fromkeys(self.messages)))

    def about_shot(self, scene: str, shot: str) -> Report:
        """Return the part of the report that is about a shot of a scene, or about one of its lines."""
        problems = tuple(one for one in self.problems if (one.scene, one.shot) == (scene, shot))
        return Report(problems, tuple(one for one in self.messages if (one.scene, one.shot) == (scene, shot)))
