"""Gathers the faults of one file, so that all are reported in one go.

In: raw tables, the pydantic model that each should fit, and its place in the file. Out: checked tables, and for each
fault a `Problem` in the words of the person who wrote the file, not in those of pydantic.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import TypeVar

from pydantic import ValidationError
from pydantic_core import ErrorDetails

from lipsync.breakdown.breakdown_tables import Checked
from lipsync.errors import InputError, Problem
from lipsync.tomlfile import found_and_allowed

AnyTable = TypeVar("AnyTable", bound=Checked)
Value = TypeVar("Value")


class Faults:
    """The faults found so far in one file.

    >>> from lipsync.breakdown.breakdown_tables import BreakdownEndTable
    >>> faults = Faults("lantern-03.toml")
    >>> faults.checked(BreakdownEndTable, {"off": 3}, "[end]")
    >>> [problem.text for problem in faults.found]
    ['"of" is missing; add it', '"off" is not known here; known are of']
    """

    def __init__(self, file: str) -> None:
        self.found: list[Problem] = []
        self._file = file

    def add(self, place: str, text: str) -> None:
        """Note a fault."""
        self.found.append(Problem(self._file, place, text))

    def any_in(self, place: str) -> bool:
        """Whether a fault was noted in a place, or in a place inside it."""
        return any(problem.place.startswith(place) for problem in self.found)

    def checked(self, table: type[AnyTable], raw: object, place: str) -> AnyTable | None:
        """Return the checked table; None if it has faults, which are noted."""
        try:
            return table.model_validate(raw)
        except ValidationError as error:
            for fault in error.errors():
                self.add(place, _sentence(fault, table))
            return None

    def made(self, make: Callable[[], Value], place: str) -> Value | None:
        """Return the value that `make` returns; None if it raises ValueError, which is noted."""
        try:
            return make()
        except ValueError as error:
            self.add(place, str(error))
            return None

    def stop_if_any(self) -> None:
        """Raise InputError with all that was noted, if anything was."""
        if self.found:
            raise InputError(self.found)


def _sentence(fault: ErrorDetails, table: type[Checked]) -> str:
    key = ".".join(str(step) for step in fault["loc"])
    if fault["type"] == "missing":
        return f'"{key}" is missing; add it'
    if fault["type"] == "extra_forbidden":
        known = ", ".join(field.alias or name for name, field in table.model_fields.items())
        return f'"{key}" is not known here; known are {known}'
    text = found_and_allowed(fault)
    return f"{key}: {text}" if key else text
