"""Whether a mouth set makes sense: what its form allows and no studio is likely to mean.

In: a mouth set. Out: for each oddity its place in the file and its kind, with facts for its sentence (wording.py).
What the lips must do for a sound is phonetics: both lips closed for P, B and M, the lower lip at the upper teeth for
F and V (place of articulation in the chart of the International Phonetic Association). The bounds are chosen.
"""

from __future__ import annotations

import re
from collections.abc import Collection, Iterator
from dataclasses import dataclass, field
from itertools import combinations, pairwise

from lipsync.fit.lips import ALIKE, distance
from lipsync.fit.mouthset import MouthSet
from lipsync.phonemes import LIP_TO_TEETH, LIPS_CLOSED

# Lips that are further apart than this are no longer closed, and fewer teeth than this are none to lay a lip under.
MOST_CLOSED, LEAST_TEETH, MOST_TUCKED = 0.1, 0.2, 0.4

# What usual spreadsheets, opening a table as text, take for a date or a number: 3-4, 1E5, 12, MAR2.
_LIKE_A_NUMBER = re.compile(
    r"[+-]?\d+([Ee][+-]?\d+)?|\d{1,2}-\d{1,2}|(JAN|FEB|MAR|APR|MAY|JUN|JUL|AUG|SEPT?|OCT|NOV|DEC)-?\d{1,2}"
    r"|\d{1,2}-?(JAN|FEB|MAR|APR|MAY|JUN|JUL|AUG|SEP|OCT|NOV|DEC)",
    re.IGNORECASE,
)


@dataclass(frozen=True, slots=True)
class Oddity:
    """What is odd of a mouth set: where, of which kind of message, with its facts."""

    place: str
    kind: str
    facts: dict[str, object] = field(default_factory=dict)


def oddities(mouth_set: MouthSet, rests: Collection[str] = ()) -> Iterator[Oddity]:
    """Yield what is odd of a mouth set without faults; `rests` are shapes and codes that puppets rest on in shots."""
    yield from _of_lips(mouth_set)
    yield from _of_sizes(mouth_set)
    yield from _of_pairs(mouth_set)
    for piece in mouth_set.piece:
        if _LIKE_A_NUMBER.fullmatch(piece.code):
            yield Oddity(f"[[piece]] {piece.code}", "code like a number", {"code": piece.code})
    served = {mouth_set.rest, *rests, *mouth_set.cues.values()}
    served |= {shape for shapes in mouth_set.phonemes.values() for shape in shapes}
    for piece in mouth_set.piece:
        # A set may rest on a piece's code, not on a shape.
        if piece.shape not in served and piece.code not in served:
            yield Oddity(f"[[piece]] {piece.code}", "piece for nothing", {"shape": piece.shape})


def _of_lips(mouth_set: MouthSet) -> Iterator[Oddity]:
    """Yield sounds whose lips close, or meet the teeth, on pieces whose lips do not."""
    for symbol in sorted(LIPS_CLOSED | LIP_TO_TEETH):
        for piece in (piece for shape in mouth_set.shapes_of(symbol) for piece in mouth_set.sizes[shape]):
            facts: dict[str, object] = {"code": piece.code, "opening": piece.lips.opening, "teeth": piece.lips.teeth}
            if symbol in LIPS_CLOSED and piece.lips.opening > MOST_CLOSED:
                yield Oddity(f"[phonemes] {symbol}", "closed sound on open lips", {**facts, "most": MOST_CLOSED})
            tucked = piece.lips.teeth >= LEAST_TEETH and piece.lips.opening <= MOST_TUCKED
            if symbol in LIP_TO_TEETH and not tucked:
                yield Oddity(
                    f"[phonemes] {symbol}",
                    "lip not at the teeth",
                    {**facts, "least": LEAST_TEETH, "most": MOST_TUCKED},
                )


def _of_sizes(mouth_set: MouthSet) -> Iterator[Oddity]:
    """Yield sizes of a shape that open less than a smaller one, and gaps between sizes."""
    for shape, pieces in mouth_set.sizes.items():
        for smaller, larger in pairwise(pieces):
            if larger.lips.opening < smaller.lips.opening:
                facts: dict[str, object] = {"larger": larger.code, "smaller": smaller.code}
                yield Oddity(f"[[piece]] {shape}", "sizes not in order", facts)
        sizes = [piece.size for piece in pieces]
        if sizes != list(range(1, len(sizes) + 1)):
            yield Oddity(f"[[piece]] {shape}", "sizes with gaps", {"sizes": ", ".join(map(str, sizes))})


def _of_pairs(mouth_set: MouthSet) -> Iterator[Oddity]:
    """Yield pieces that look alike, by their lips or by one picture for two."""
    for one, other in combinations(mouth_set.piece, 2):
        facts: dict[str, object] = {"one": one.code, "other": other.code}
        if distance(one.lips, other.lips) < ALIKE:
            yield Oddity("[[piece]]", "pieces alike", facts)
        if one.picture is not None and one.picture == other.picture:
            yield Oddity("[[piece]]", "one picture for two", {**facts, "picture": one.picture})
