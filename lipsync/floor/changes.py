"""One thing that changed between two states of a sheet.

comparing.py finds changes, change_words.py puts them in words.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from lipsync.floor.spans import Span, frames_in

Kind = Literal[
    "title",  # the names of production, scene or shot
    "rate",
    "film",  # the gauge that feet are counted on
    "numbers",  # the number of the first frame
    "timecode",
    "length",
    "alert",  # what must be known before the sheet is used
    "no alert",
    "order",  # of the characters' columns
    "name",
    "came",  # a character that was not on the sheet
    "went",  # one that no longer is
    "moved",  # words, and what they take along
    "words",
    "pause",
    "no pause",
    "lasts",  # a word that is heard up to another frame
    "doubt",
    "no doubt",
    "piece",
    "put on",  # the same piece: it was on already, and is now put on here
    "held",  # the same piece: it was put on here, and is now on already
    "phonemes",
    "retimed",  # the same phonemes on other frames
    "shown",  # the sound that a piece is there for
    "lost",
    "seen",
    "beat",
    "no beat",
    "note",  # what to model between keys
    "part",  # a part that is listed by hand
]


@dataclass(frozen=True, slots=True)
class ModellingNote:
    """What is to be modelled from a frame on: toward which piece over how many frames, and whether to keep alive."""

    toward: str = ""
    frames: int = 0
    keep_alive: bool = False


@dataclass(frozen=True, slots=True)
class Change:
    """One thing that changed.

    Attributes:
        kind: what kind of change it is.
        first: the first frame concerned, in the later state, from 0.
        last: the last frame concerned.
        character: the character's name; empty for a change of the whole shot.
        now: what it is.
        was: what it was.
        by: of a move, by how many frames at least and at most; below 0 where it is earlier.
        also: the frames concerned in the earlier state, where they differ.
        notes: of a modelling note, the new one and the old one.
    """

    kind: Kind
    first: int
    last: int
    character: str = ""
    now: str = ""
    was: str = ""
    by: Span = (0, 0)
    also: Span | None = None
    notes: tuple[ModellingNote, ModellingNote] = (ModellingNote(), ModellingNote())

    @property
    def spans(self) -> tuple[Span, ...]:
        """First and last frame concerned in the later state, and in the earlier one where they differ."""
        return ((self.first, self.last), *([self.also] if self.also else []))

    @property
    def frames(self) -> frozenset[int]:
        """Every frame of `spans`."""
        return frames_in(self.spans)
