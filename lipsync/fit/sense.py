"""Finds what is odd of a mouth set: what its form allows and no studio is likely to intend.

In: a mouth set. Out: for each oddity its place in the file and its kind, with the facts for its sentence
(wording.py). What the lips do for a sound is phonetics: both lips are closed for P, B and M, the lower lip is at the
upper teeth for F and V (place of articulation in the chart of the International Phonetic Association). The limits are
chosen.
"""

from __future__ import annotations

import re
from collections.abc import Collection, Iterator
from dataclasses import dataclass, field
from itertools import combinations, pairwise

from lipsync.fit.lips import ALIKE, distance
from lipsync.fit.mouthset import MouthSet
from lipsync.phonemes import LIP_TO_TEETH, LIPS_CLOSED

# Chosen: lips that open more than this are not closed; a lip is at the teeth if at least so much of the teeth is seen
# and the mouth opens no further than this.
MOST_CLOSED, LEAST_TEETH, MOST_TUCKED = 0.1, 0.2, 0.4

# What common spreadsheet programs take for a date or a number when they open a table as text: 3-4, 1E5, 12, MAR2.
_LIKE_A_NUMBER = re.compile(
    r"[+-]?\d+([Ee][+-]?\d+)?|\d{1,2}-\d{1,2}|(JAN|FEB|MAR|APR|MAY|JUN|JUL|AUG|SEPT?|OCT|NOV|DEC)-?\d{1,2}"
    r"|\d{1,2}-?(JAN|FEB|MAR|APR|MAY|JUN|JUL|AUG|SEP|OCT|NOV|DEC)",
    re.IGNORECASE,
)


@dataclass(frozen=True, slots=True)
class Oddity:
    """One oddity of a mouth set: its place in the file, its kind (`wording.SENTENCES`), and the facts for that."""

    place: str
    kind: str
    facts: dict[str, object] = field(default_factory=dict)


def oddities(mouth_set: MouthSet, rests: Collection[str] = ()) -> Iterator[Oddity]:
    """Yield the oddities of a mouth set; `rests` are the shapes and codes on which puppets rest in shots."""
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
    """Yield closed sounds whose pieces are open, and F and V with pieces whose lip is not at the teeth."""
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
    """Yield larger sizes that open less than smaller ones, and gaps between the sizes of a shape."""
    for shape, pieces in mouth_set.sizes.items():
        for smaller, larger in pairwise(pieces):
            if larger.lips.opening < smaller.lips.opening:
                facts: dict[str, object] = {"larger": larger.code, "smaller": smaller.code}
                yield Oddity(f"[[piece]] {shape}", "sizes not in order", facts)
        sizes = [piece.size for piece in pieces]
        if sizes != list(range(1, len(sizes) + 1)):
            yield Oddity(f"[[piece]] {shape}", "sizes with gaps", {"sizes": ", ".join(map(str, sizes))})


def _of_pairs(mouth_set: MouthSet) -> Iterator[Oddity]:
    """Yield pieces with lips that look alike, and pieces with the same picture."""
    for one, other in combinations(mouth_set.piece, 2):
        facts: dict[str, object] = {"one": one.code, "other": other.code}
        if distance(one.lips, other.lips) < ALIKE:
            yield Oddity("[[piece]]", "pieces alike", facts)
        if one.picture is not None and one.picture == other.picture:
            yield Oddity("[[piece]]", "one picture for two", {**facts, "picture": one.picture})
