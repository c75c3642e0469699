"""The sounds that a shape serves, each with a word in which it is heard, as a mouth chart names them."""

from __future__ import annotations

from dataclasses import dataclass

from lipsync.fit.mouthset import MouthSet
from lipsync.phonemes import PHONEMES


@dataclass(frozen=True, slots=True)
class Served:
    """A sound that a shape serves, and a word in which it is heard; a cue has none."""

    symbol: str
    example: str


def served_by(mouth_set: MouthSet, shape: str) -> tuple[Served, ...]:
    """Return the sounds that a shape serves, in the order of the table of phonemes, then cues.

    A diphthong of two shapes has dots on the side of the part that the other shape serves: "AW…" is its first part,
    "…AW" its second.
    """
    found: list[Served] = []
    for symbol, row in PHONEMES.items():
        shapes = mouth_set.phonemes[symbol]
        for place, name in enumerate(shapes):
            if name == shape and shapes.index(name) == place:
                first, second = place == 0 and set(shapes) != {shape}, place == 1
                shown = f"{symbol}…" if len(shapes) > 1 and first else f"…{symbol}" if second else symbol
                found.append(Served(shown, row.example))
    found += [Served(f"[{cue}]", "") for cue, name in mouth_set.cues.items() if name == shape]
    return tuple(found)
