"""What values the file of a shot's prints may hold: the type of each, and that frames lie in the shot.

In: the file's bytes; the form is described in formats/prints.md. Out: the first faults, in words; none if all is
well. Whether stamps agree with what they stand for is checked in prints.py.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from itertools import chain
from typing import Annotated, Any, Literal

from pydantic import BaseModel, ConfigDict, Field, StringConstraints, ValidationError, model_validator

from lipsync.paper.cells import HeardKind
from lipsync.paper.sheet_settings import PART_COLUMNS
from lipsync.production.production_tables import LONGEST_SHOT

# At most so many faults are told: the first ones show what is wrong (chosen).
_MOST_TOLD = 3

Frame = Annotated[int, Field(ge=0, lt=LONGEST_SHOT)]
Length = Annotated[int, Field(ge=1, le=LONGEST_SHOT)]
Code = Annotated[str, StringConstraints(pattern=r"^[A-Za-z0-9][A-Za-z0-9+-]{0,5}$")]
Phoneme = Annotated[str, StringConstraints(min_length=1)]
Heard = tuple[HeardKind, str, Frame, Frame] | tuple[HeardKind, str, Frame, Frame, Literal[True]]


class _PrintPart(BaseModel):
    model_config = ConfigDict(extra="forbid", frozen=True, strict=True)


class FactsTable(_PrintPart):
    """What the heading says."""

    production: str
    scene: str
    shot: str
    rate: str
    film: str
    first_frame: int
    start_frame: int
    drop: bool


class ColumnTable(_PrintPart):
    """What the rows say of one character."""

    id: str
    name: str
    heard: tuple[Heard, ...] = ()
    phonemes: tuple[tuple[Any, ...], ...] = ()
    pieces: tuple[tuple[Length, Code | None], ...] = ()
    shown: tuple[tuple[Length, Phoneme | None], ...] = ()
    lost: tuple[tuple[Any, ...], ...] = ()
    beats: tuple[Frame, ...] = ()
    toward: tuple[tuple[Frame, Code, Length], ...] = ()
    keep_alive: tuple[Frame, ...] = ()
    parts: tuple[tuple[Literal[tuple(PART_COLUMNS)], Code, Frame, Frame, bool], ...] = ()  # type: ignore[valid-type]
    fitted_otherwise: tuple[Frame, ...] = ()
    heard_otherwise: tuple[Frame, ...] = ()

    @property
    def frames(self) -> Iterator[int]:
        """Every frame that the column names, in no order."""
        plain = (self.beats, self.keep_alive, self.fitted_otherwise, self.heard_otherwise)
        firsts = (one[0] for one in (*self.phonemes, *self.lost, *self.toward))
        ends = (frame for one in self.parts for frame in (one[2], one[3]))
        return chain((one[2] for one in self.heard), ends, firsts, *plain)


class RevisionTable(_PrintPart):
    """One revision of the sheet."""

    letter: str
    stamp: str
    facts: FactsTable
    alerts: tuple[str, ...] = ()
    frames: Length
    filmed: tuple[tuple[Frame, Frame], ...] = ()
    characters: tuple[ColumnTable, ...]

    @model_validator(mode="after")
    def _within_the_shot(self) -> RevisionTable:
        for column in self.characters:
            for row in (*column.phonemes, *column.lost):
                if len(row) < 2 or type(row[0]) is not int or not all(type(t) is str and t for t in row[1:]):
                    raise ValueError(f"{column.id}: {list(row)} is no frame with its phonemes")
            if any(not 0 <= frame < self.frames for frame in column.frames):
                raise ValueError(f"{column.id}: speaks of a frame that is not among the {self.frames} of the shot")
            for name, runs in (("pieces", column.pieces), ("shown", column.shown)):
                if sum(length for length, _ in runs) != self.frames:
                    raise ValueError(f"{column.id}: {name} are not those of {self.frames} frames")
        if any(not first <= last < self.frames for first, last in self.filmed):
            raise ValueError(f"filmed are frames that are not among the {self.frames} of the shot")
        return self


class PrintsTable(_PrintPart):
    """The whole file."""

    form: str
    shot: str
    revisions: tuple[RevisionTable, ...]
    end: str


def faults_in(content: bytes) -> tuple[str, ...]:
    """Return the first faults of the values of a file of prints, each a sentence with its place; empty if none."""
    try:
        PrintsTable.model_validate_json(content)
    except ValidationError as error:
        details = error.errors(include_url=False, include_input=False)[:_MOST_TOLD]
        return tuple(f"{_place(detail['loc'])}{detail['msg'].removeprefix('Value error, ')}" for detail in details)
    return ()


def _place(keys: Iterable[int | str]) -> str:
    parts = [f"{key + 1}" if isinstance(key, int) else key for key in keys]
    return f"{' '.join(parts)}: " if parts else ""
