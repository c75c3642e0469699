"""All that is kept of one line: what it was computed from, what was computed, what a person corrected and decided.

Conventions: times are whole microseconds from the line's `in` point; parts are counted from 0 among the computed
parts, frames from 0 in the line's shot. `Kept.breakdown` is what stands; it is made from the other fields.
"""

from __future__ import annotations

import hashlib
import json
import math
from dataclasses import dataclass, replace
from functools import cached_property

from lipsync.breakdown.correcting import corrections_to
from lipsync.breakdown.correction_faults import correction_faults, piece_faults
from lipsync.breakdown.corrections import Correction, PieceChoice, label_of, sound_of, times_of
from lipsync.breakdown.disagreeing import moved_away, without_room
from lipsync.breakdown.laying import breakdown_of, lay
from lipsync.breakdown.settling import settled
from lipsync.model import Breakdown, Part, UntoldVoice, Word


@dataclass(frozen=True, slots=True)
class Source:
    """What a line was computed from.

    Attributes:
        text: what is said, as the scene file gives it.
        recording: the recording's name, as the scene file gives it.
        fingerprint: short code of the line's sound, from in to out; the same sound has the same one.
        in_us: where the line begins in the recording; None for the recording's start.
        out_us: where the line ends; None for the recording's end.
    """

    text: str
    recording: str
    fingerprint: str
    in_us: int | None = None
    out_us: int | None = None

    def alike(self, other: Source) -> bool:
        """Whether text and sound are the same, even if the sound is in another file or at another place."""
        return (self.text, self.fingerprint) == (other.text, other.fingerprint)


@dataclass(frozen=True, slots=True)
class Computation:
    """A breakdown, what it was computed from, and by which engine."""

    source: Source
    breakdown: Breakdown
    engine: str


@dataclass(frozen=True)
class Kept:
    """All that is kept of one line.

    Attributes:
        line: the line's id.
        source: what it was computed from.
        computed: what was computed.
        engine: name and version of what computed it.
        corrections: what a person corrected, kept apart from what was computed.
        checked: whether a person has listened to the line as it stands and found it good.
        pieces: pieces put on frames by hand, or forbidden there.
        newer: a computation that was made later and waits until a person takes it.
        stale_check: the check in the file if it no longer fits the computed rows, which were then edited in place;
            else empty.
        nothing_said: where a person says that what is heard is nothing that is said, in order of time.
    """

    line: str
    source: Source
    computed: Breakdown
    engine: str = ""
    corrections: tuple[Correction, ...] = ()
    checked: bool = False
    pieces: tuple[PieceChoice, ...] = ()
    newer: Computation | None = None
    stale_check: str = ""
    nothing_said: tuple[UntoldVoice, ...] = ()

    def __post_init__(self) -> None:
        computations = [(self.source, self.computed)]
        if self.newer:
            computations.append((self.newer.source, self.newer.breakdown))
        for source, breakdown in computations:
            if breakdown.text != source.text:
                raise ValueError(
                    f'line {self.line}: computed from "{breakdown.text}", but its source is "{source.text}"'
                )
            numbers = [breakdown.voice_factor, *(p.level_db for p in breakdown.phonemes if p.level_db is not None)]
            if any(map(math.isnan, numbers)) or not 0 < breakdown.voice_factor < math.inf:
                raise ValueError(f"line {self.line}: the voice factor must be above 0, and levels must be numbers")
        faults = [*correction_faults(self.computed, self.corrections), *piece_faults(self.pieces)]
        if faults:
            raise ValueError(f"line {self.line}: " + "; ".join(f"{place}: {text}" for place, text in faults))

    @property
    def edited(self) -> bool:
        """Whether the computed rows were edited in place since they were computed."""
        return bool(self.stale_check)

    @cached_property
    def breakdown(self) -> Breakdown:
        """What stands: the computed breakdown with the corrections laid over it, without settled doubts."""
        stands = breakdown_of(self.computed, lay(self.computed, self.corrections))
        return settled(stands, checked=self.checked, nothing_said=self.nothing_said)

    @property
    def undone(self) -> bool:
        """Whether nothing of it can be used: it has no part, and no person has marked that as right."""
        stands = self.breakdown
        return stands.rejection is not None and not stands.parts

    @property
    def by_hand(self) -> bool:
        """Whether a person has placed all that stands, and nothing was computed."""
        return not self.computed.parts and any(correction.parts for correction in self.corrections)

    @property
    def disagreements(self) -> tuple[str, ...]:
        """Sentences: where a computation newer than a correction differs from it, and what has no room beside it."""
        moved = (text for correction in self.corrections for text in moved_away(correction, self.computed))
        return (*moved, *without_room(self.computed, lay(self.computed, self.corrections)))

    def with_nothing_said(self, start_us: int, end_us: int) -> Kept:
        """Return this where a person says that nothing is said in a stretch: it is no voice without text any more."""
        both = sorted({*self.nothing_said, UntoldVoice(start_us, end_us)}, key=lambda one: (one.start_us, one.end_us))
        return replace(self, nothing_said=tuple(both))

    def corrected_to(self, wanted: Breakdown, note: str = "") -> Kept:
        """Return the same line with the corrections that make `wanted` stand; those that still hold stay as they are.

        Raises:
            ValueError: if `wanted` is not of the same length of sound.
        """
        return replace(self, corrections=corrections_to(self.computed, self.corrections, wanted, note))


def check_of(breakdown: Breakdown) -> str:
    """Return the code of the computed rows; it does not depend on how they are written in the file."""
    rows = [[type(p).__name__, label_of(p), sound_of(p), times_of(p), *_not_heard(p)] for p in breakdown.parts]
    text = json.dumps([breakdown.duration_us, rows], ensure_ascii=True, separators=(",", ":"))
    return hashlib.sha256(text.encode()).hexdigest()[:12]


def _not_heard(part: Part) -> list[object]:
    """Return what else is written of a part: whether it is corrected, its origin, confidence and levels."""
    if not isinstance(part, Word):
        return [part.corrected]
    levels = [None if p.level_db is None else float(p.level_db) for p in part.phonemes]
    return [part.corrected, part.origin, None if part.confidence is None else float(part.confidence), levels]
