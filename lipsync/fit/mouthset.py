"""A character's mouth set: its shapes and pieces, and the studio's table from sounds to shapes.

In: a TOML file (form "lipsync mouth set 1"). Out: a checked `MouthSet`. A shape is a way of holding the
lips; a piece is a shape in a size, with a code short enough to be written on its back. Every ARPAbet phoneme has one
shape, a diphthong may have two in order; each cue has one. Each piece has `Lips`: what the lips do, 0 to 1.
"""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Iterable, Iterator, Mapping
from functools import cached_property
from pathlib import Path
from typing import Annotated, Literal

from pydantic import AfterValidator, BeforeValidator, Field, StringConstraints

from lipsync.fit.fit_settings import FittingSettings
from lipsync.phonemes import DIPHTHONGS, PHONEMES
from lipsync.tomlfile import Table, read_table


def _code(text: str) -> str:
    if not re.fullmatch(r"[A-Za-z0-9][A-Za-z0-9+-]{0,5}", text):
        raise ValueError(f"{text!r} is no code; write up to six letters and digits, with + or - among them")
    return text


def _printable(text: str) -> str:
    if not text.isprintable():
        raise ValueError(f"{text!r} holds a character that does not print; write it in one line")
    return text


def _in_order(shapes: object) -> object:
    """Turn one shape into a tuple of one."""
    return (shapes,) if isinstance(shapes, str) else shapes


ZeroToOne = Annotated[float, Field(ge=0, le=1, allow_inf_nan=False)]
Code = Annotated[str, AfterValidator(_code)]
Name = Annotated[
    str, StringConstraints(strip_whitespace=True, min_length=1, max_length=40), AfterValidator(_printable)
]
Shapes = Annotated[tuple[Name, ...], BeforeValidator(_in_order)]

# The cues to which every mouth set gives a shape (common practice: sounds that actors make between words) -> the size
# of the mouth, 0 to 1 (chosen: the level of a cue is not measured).
CUES: Mapping[str, float] = {"breath": 0.3, "laugh": 0.6, "gasp": 0.7, "sigh": 0.3, "hum": 0.2, "scream": 1.0}

# Chosen: a set with more pieces is a mistake; no animator has so many within reach.
LEAST_PIECES, MOST_PIECES = 2, 200


class Lips(Table):
    """What the lips do, each from 0 to 1.

    Attributes:
        opening: from lips closed to wide open.
        width: from drawn in to spread.
        rounding: from flat to pushed out in a ring.
        teeth: how much of the teeth is seen.
        tongue: how much of the tongue is seen.
    """

    opening: ZeroToOne
    width: ZeroToOne
    rounding: ZeroToOne
    teeth: ZeroToOne = 0.0
    tongue: ZeroToOne = 0.0


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
    phonemes: Mapping[str, Shapes]
    cues: Mapping[Name, Name]
    fitting: FittingSettings | None = None

    def faults(self) -> Iterator[tuple[str, str]]:
        """Yield missing entries, unknown phonemes and shapes, and codes and sizes that occur twice."""
        pieces = [piece for piece in self.piece or () if piece]
        if self.piece is not None:
            yield from _faults_of_pieces(pieces)
        known = tuple(dict.fromkeys(piece.shape for piece in pieces if piece.shape))
        if self.rest is not None:
            yield from _unknown_shapes("rest", [self.rest], known)
        if self.phonemes is not None:
            yield from _faults_of_phonemes(self.phonemes, known)
        for cue in (cue for cue in CUES if self.cues is not None and cue not in self.cues):
            yield f"[cues] {cue}", f"has no shape; {_remedy(known)}"
        for cue, shape in (self.cues or {}).items():
            yield from _unknown_shapes(f"[cues] {cue}", [shape], known)

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


def _faults_of_pieces(pieces: list[Piece]) -> Iterator[tuple[str, str]]:
    if not LEAST_PIECES <= len(pieces) <= MOST_PIECES:
        found = "1 piece" if len(pieces) == 1 else f"{len(pieces)} pieces"
        yield "[[piece]]", f"found {found}; a set has from {LEAST_PIECES} to {MOST_PIECES}, so that mouths can change"
    for code, times in Counter(piece.code.upper() for piece in pieces if piece.code).items():
        if times > 1:
            yield f"[[piece]] code {code}", f"is on {times} pieces; give each its own code"
    for (shape, size), times in Counter((piece.shape, piece.size) for piece in pieces).items():
        if times > 1 and shape and size:
            yield f"[[piece]] {shape}", f"size {size} is on {times} pieces; give each its own size"


def _faults_of_phonemes(table: Mapping[str, tuple[str, ...]], known: tuple[str, ...]) -> Iterator[tuple[str, str]]:
    for symbol in (symbol for symbol in PHONEMES if symbol not in table):
        yield f"[phonemes] {symbol}", f"has no shape; {_remedy(known)}"
    for symbol, shapes in table.items():
        if symbol not in PHONEMES:
            yield f"[phonemes] {symbol}", "is no ARPAbet phoneme (without stress); take it out or mend its spelling"
        elif shapes is not None and not 1 <= len(shapes) <= (2 if symbol in DIPHTHONGS else 1):
            allowed = "one shape or two in order" if symbol in DIPHTHONGS else "exactly one shape"
            yield f"[phonemes] {symbol}", f"has {len(shapes)} shapes; give it {allowed}"
        yield from _unknown_shapes(f"[phonemes] {symbol}", shapes or (), known)


def _unknown_shapes(place: str, shapes: Iterable[str], known: tuple[str, ...]) -> Iterator[tuple[str, str]]:
    for shape in shapes:
        if shape is not None and shape not in known:
            yield place, f"shape {shape!r} has no piece; {_remedy(known)}"


def _remedy(known: tuple[str, ...]) -> str:
    return f"name one of {', '.join(known)}" if known else "add pieces, each with its shape"


def load_mouth_set(path: Path) -> MouthSet:
    """Return the mouth set of a file.

    Raises:
        InputError: naming every fault, such as a missing phoneme, an unknown shape, the same code twice.
    """
    return read_table(path, MouthSet)
