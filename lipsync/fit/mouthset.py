"""A character's mouth set: its shapes and pieces, and the studio's table from sounds to shapes.

In comes a TOML file (form "lipsync mouth set 1"), out a checked `MouthSet`. A shape is a way of holding the lips;
a piece is a shape in a size, with a code short enough to be written on its back. Every ARPAbet phoneme has a
shape, a diphthong two in order; cues have one each. What the lips do (`Lips`) is given for each piece, 0 to 1.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Mapping
from functools import cached_property
from pathlib import Path
from typing import Annotated, Literal, Self

from pydantic import Field, StringConstraints, field_validator, model_validator

from lipsync.errors import InputError, Problem
from lipsync.phonemes import DIPHTHONGS, PHONEMES
from lipsync.tomlfile import Table, read_table

Unit = Annotated[float, Field(ge=0, le=1, allow_inf_nan=False)]
Code = Annotated[str, StringConstraints(pattern=r"^[A-Za-z0-9][A-Za-z0-9+-]{0,5}$")]
Name = Annotated[str, StringConstraints(min_length=1, max_length=40)]

# The cues that a text may name; a mouth set gives each a shape. Common practice: sounds actors make between words.
CUES = ("breath", "laugh", "gasp", "sigh", "hum", "scream")

# A set beyond this is a slip of the hand, not a board that an animator can reach over (chosen).
MOST_PIECES = 200


class Lips(Table):
    """What the lips do, each from 0 to 1.

    Attributes:
        opening: from lips closed to wide open.
        width: from drawn in to spread.
        rounding: from flat to pushed out in a ring.
        teeth: how much of the teeth is seen.
        tongue: how much of the tongue is seen.
    """

    opening: Unit
    width: Unit
    rounding: Unit
    teeth: Unit = 0.0
    tongue: Unit = 0.0


class Piece(Table):
    """One replacement mouth.

    Attributes:
        code: what is written on its back, up to six letters and digits, unique in the set.
        name: its full name, such as "open-2".
        shape: the shape it belongs to.
        size: 1 is the smallest of its shape.
        lips: what the lips do.
        picture: a picture file beside the set, or None to draw it from `lips`.
    """

    code: Code
    name: Name
    shape: Name
    size: Annotated[int, Field(ge=1, le=9)] = 1
    lips: Lips
    picture: str | None = None


class MouthSet(Table):
    """A character's shapes and pieces, and the table from sounds to shapes."""

    form: Literal["lipsync mouth set 1"]
    name: Name
    about: str = ""
    material: Literal["clay", "hard"] = "clay"
    rest: Name
    piece: tuple[Piece, ...]
    phonemes: Mapping[str, tuple[str, ...]]
    cues: Mapping[str, str]

    @field_validator("phonemes", mode="before")
    @classmethod
    def _one_or_two(cls, table: object) -> object:
        if not isinstance(table, dict):
            return table
        return {symbol: (shape,) if isinstance(shape, str) else shape for symbol, shape in table.items()}

    @model_validator(mode="after")
    def _whole(self) -> Self:
        problems = list(self._faults())
        if problems:
            raise ValueError("\n".join(problems))
        return self

    def _faults(self) -> Iterator[str]:
        if not 1 <= len(self.piece) <= MOST_PIECES:
            yield f"[[piece]]: {len(self.piece)} pieces; a set has from 1 to {MOST_PIECES}"
        shapes = set(self.sizes)
        known = ", ".join(self.sizes)
        for code, times in Counter(piece.code.upper() for piece in self.piece).items():
            if times > 1:
                yield f"[[piece]] code {code}: is on {times} pieces; give each its own code"
        for (shape, size), times in Counter((piece.shape, piece.size) for piece in self.piece).items():
            if times > 1:
                yield f"[[piece]] {shape}: size {size} is on {times} pieces; give each its own size"
        if self.rest not in shapes:
            yield f"rest: shape {self.rest!r} has no piece; the set's shapes are {known}"
        for symbol in (symbol for symbol in PHONEMES if symbol not in self.phonemes):
            yield f"[phonemes] {symbol}: has no shape; name one of {known}"
        for symbol, served in self.phonemes.items():
            if symbol not in PHONEMES:
                yield f"[phonemes] {symbol}: is no ARPAbet phoneme (without stress); take it out or mend its spelling"
            elif not 1 <= len(served) <= (2 if symbol in DIPHTHONGS else 1):
                allowed = "one shape or two in order" if symbol in DIPHTHONGS else "exactly one shape"
                yield f"[phonemes] {symbol}: has {len(served)} shapes; give it {allowed}"
            for shape in served:
                if shape not in shapes:
                    yield f"[phonemes] {symbol}: shape {shape!r} has no piece; the set's shapes are {known}"
        for cue in (cue for cue in CUES if cue not in self.cues):
            yield f"[cues] {cue}: has no shape; name one of {known}"
        for cue, shape in self.cues.items():
            if shape not in shapes:
                yield f"[cues] {cue}: shape {shape!r} has no piece; the set's shapes are {known}"

    @cached_property
    def sizes(self) -> dict[str, tuple[Piece, ...]]:
        """Shape -> its pieces, smallest first, in the order in which the file names the shapes."""
        found: dict[str, list[Piece]] = {}
        for piece in self.piece:
            found.setdefault(piece.shape, []).append(piece)
        return {shape: tuple(sorted(pieces, key=lambda p: p.size)) for shape, pieces in found.items()}

    @cached_property
    def by_code(self) -> dict[str, Piece]:
        """Code -> piece."""
        return {piece.code: piece for piece in self.piece}

    def shapes_of(self, symbol: str) -> tuple[str, ...]:
        """Return the shapes, in order, of a phoneme ("AW"), a cue ("[breath]") or silence ("SIL").

        Raises:
            KeyError: for a cue that the set does not name.
        """
        if symbol.startswith("["):
            return (self.cues[symbol.strip("[]")],)
        return self.phonemes.get(symbol, (self.rest,))


def load_mouth_set(path: Path) -> MouthSet:
    """Return the mouth set of a file.

    Raises:
        InputError: naming every fault: a hole in the table, an unknown phoneme or shape, the same code twice.
    """
    try:
        return read_table(path, MouthSet)
    except InputError as error:
        # The table's own check reports all its faults as one text; each is a problem of its own.
        raise InputError(
            Problem(p.file, p.place, line) for p in error.problems for line in p.text.split("\n")
        ) from None
