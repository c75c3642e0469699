"""What a sheet needs to know of one shot: `SheetJob`, the one parameter of everything that shows a track.

Frames are counted from 0 in the shot, times are microseconds of the shot; numbers, feet and timecode are made from
them when rows are (rows.py).
"""

from __future__ import annotations

import datetime
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from fractions import Fraction

from lipsync.fit.keys import Toward
from lipsync.fit.mouthset import MouthSet
from lipsync.paper.cells import Cell
from lipsync.paper.piece_pictures import Art
from lipsync.paper.sheet_settings import SheetSettings
from lipsync.track import FrameTrack, PartWorn, Sound

# If more than this part of a shot's rows changed, the sheet is called new throughout, and no row is marked (chosen).
_NEW_FROM = 0.9


@dataclass(frozen=True, slots=True)
class KeepAlive:
    """A frame from which on a long hold is to be kept alive by hand."""

    frame: int


@dataclass(frozen=True, slots=True)
class SheetCharacter:
    """One character of a shot.

    Attributes:
        name: as it is printed.
        mouth_set: its mouth set.
        track: the piece on each frame, and what is lost.
        sounds: all that it says in the shot, in order.
        level_db: for each frame the level of its voice in dB relative to full scale, None for silence; empty if it
            was not measured.
        modelling: what to do by hand between keys.
        beats: frames of strong beats, where head and brows may move.
        untold: where its voice has no text, in microseconds of the shot.
        art: the studio's own pictures, by code; pieces without one are drawn from their lips.
        as_filmed: for frames in the can the cells of the print that they were filmed from, if that print is known.
        parts: replacement parts listed by hand, in the order of their frames.
        misfits: where what is filmed does not fit its sound: the first frame of each place, and what is so there.
    """

    name: str
    mouth_set: MouthSet
    track: FrameTrack
    sounds: tuple[Sound, ...] = ()
    level_db: tuple[float | None, ...] = ()
    modelling: tuple[Toward | KeepAlive, ...] = ()
    beats: tuple[int, ...] = ()
    untold: tuple[tuple[int, int], ...] = ()
    art: Mapping[str, Art] = field(default_factory=dict)
    as_filmed: Mapping[int, Cell] = field(default_factory=dict)
    parts: tuple[PartWorn, ...] = ()
    misfits: tuple[tuple[int, str], ...] = ()


@dataclass(frozen=True, slots=True)
class SheetJob:
    """One shot.

    Attributes:
        production: its title.
        scene: its title.
        shot: its id.
        rate: frames a second, exact.
        frames: the number of frames.
        characters: the characters from left to right; it may be empty.
        first_frame: the number of the first frame.
        start_frame: the first frame counted from midnight, for timecode.
        drop: whether timecode is drop-frame.
        film: gauge, for feet.
        dated: the date of the state that is printed.
        settings: how the sheet looks.
        revision: the letter of its revision, or an empty text.
        changed: frames that differ from the print before.
        before: the letter of that print, or an empty text.
        rows_before: how many frames that print had.
        heading_changed: whether heading or foot differ from those of that print.
        filmed: frames in the can.
        alerts: sentences that must be known before anything on a page is used; they are printed on every page.
    """

    production: str
    scene: str
    shot: str
    rate: Fraction
    frames: int
    characters: tuple[SheetCharacter, ...]
    first_frame: int = 1
    start_frame: int = 0
    drop: bool = False
    film: str = "35mm"
    dated: datetime.date | None = None
    settings: SheetSettings = field(default_factory=SheetSettings)
    revision: str = ""
    changed: frozenset[int] = frozenset()
    before: str = ""
    rows_before: int = 0
    heading_changed: bool = False
    filmed: frozenset[int] = frozenset()
    alerts: tuple[str, ...] = ()

    @property
    def new_throughout(self) -> bool:
        """Whether so much changed that bars in the margin would say nothing."""
        return len(self.changed) >= _NEW_FROM * self.frames

    @property
    def marked(self) -> frozenset[int]:
        """Frames that have a bar in the margin."""
        return frozenset() if self.new_throughout else self.changed

    def __post_init__(self) -> None:
        faults = list(self._faults())
        if faults:
            raise ValueError(f"shot {self.shot}: " + "; ".join(faults))

    def _faults(self) -> Iterator[str]:
        if self.frames < 1:
            yield f"{self.frames} frames"
        for character in self.characters:
            if len(character.track.pieces) != self.frames:
                yield f"{character.name} has a track of {len(character.track.pieces)} frames, the shot {self.frames}"
            if character.level_db and len(character.level_db) != self.frames:
                yield f"{character.name} has levels for {len(character.level_db)} frames, the shot {self.frames}"
            marked = [*character.beats, *(note.frame for note in character.modelling)]
            marked += [frame for part in character.parts for frame in (part.first, part.last)]
            if any(not 0 <= frame < self.frames for frame in marked):
                yield f"{character.name} has a beat, a note or a part outside the shot"
