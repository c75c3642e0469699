"""What fitting needs to know of one character in one shot: `Job`, the only parameter of `fit`.

Frames are counted from 0 in the shot, times are microseconds from its start. Codes name pieces of the mouth set. Only
a filmed frame may wear a code that is not in the set: it stays as it was filmed, even if the set changes.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from fractions import Fraction
from statistics import quantiles

from lipsync.fit.fit_settings import FittingSettings
from lipsync.fit.mouthset import MouthSet
from lipsync.phonemes import VOWELS
from lipsync.timing import frame_start_us
from lipsync.track import Sound

# The least range of a character's voice: a smaller one is widened to this around its middle, so that an even voice
# gets middling mouths. Chosen: soft and loud speech of one person are well over 12 dB apart.
_LEAST_SPAN_DB = 12.0

# When a frame's picture is taken, from the frame's start. A camera takes it in the first half of a frame; the clips
# that the lips were learned from were taken in the first 10 ms (tests/lip_clips.py), and this is the middle of these.
SHUTTER_US = 5_000


@dataclass(frozen=True, slots=True)
class VoiceRange:
    """How quietly and how loudly a character speaks: levels of its vowels in dB relative to full scale."""

    quiet_db: float
    loud_db: float

    def __post_init__(self) -> None:
        if not self.quiet_db < self.loud_db:
            raise ValueError(f"quiet must be below loud, not {self.quiet_db} and {self.loud_db} dB")

    def loudness(self, level_db: float) -> float:
        """Return where a level lies in the range, from 0 for quiet to 1 for loud.

        >>> VoiceRange(-40.0, -20.0).loudness(-25.0)
        0.75
        """
        return min(1.0, max(0.0, (level_db - self.quiet_db) / (self.loud_db - self.quiet_db)))


def voice_range(sounds: Iterable[Sound]) -> VoiceRange | None:
    """Return a character's range from the sounds of all its lines; None if no level was measured.

    It goes from the 10th to the 90th percentile of its vowels, so that one shriek does not make all other mouths
    small.
    """
    return range_of_levels(vowel_levels(sounds))


def vowel_levels(sounds: Iterable[Sound]) -> list[float]:
    """Return the levels of the vowels among sounds, in dB below full scale."""
    return [s.level_db for s in sounds if s.symbol in VOWELS and s.level_db is not None]


def range_of_levels(levels: Sequence[float]) -> VoiceRange | None:
    """Return a character's range from the levels of all its vowels, in any order; None if there are none.

    It is in whole dB, which is about the least difference of level that is heard (Jesteadt, Wier & Green (1977),
    "Intensity discrimination as a function of frequency and sensation level", JASA 61:169-177, from memory). So one
    line that is recorded anew seldom moves it, and with it the sizes of mouths in all the character's shots.
    """
    if not levels:
        return None
    tenths = quantiles(levels, n=10, method="inclusive") if len(levels) > 1 else [levels[0]] * 9
    quiet, loud = tenths[0], tenths[-1]
    missing = max(0.0, _LEAST_SPAN_DB - (loud - quiet)) / 2
    return VoiceRange(float(round(quiet - missing)), float(round(loud + missing)))


@dataclass(frozen=True, slots=True)
class Job:
    """One character in one shot, to be fitted.

    Attributes:
        character: its id.
        sounds: all that it says in the shot, in all its lines; in any order.
        on_camera: for each frame of the shot, whether the character is seen.
        mouth_set: its mouth set.
        settings: the studio's settings for this mouth set.
        rate: frames a second.
        rests_on: code of the piece that it rests on.
        voice: its range over the whole production (`voice_range`); if None, the range of these sounds is used.
        levels_db: the level of its voice on each frame of the shot in dB below full scale; empty if not measured.
        filmed: frames in the can, with the code worn, None where it was off camera. They stay as they are.
        pinned: frames for which a person chose the piece.
        forbidden: frames for which a person ruled out pieces.
    """

    character: str
    sounds: Sequence[Sound]
    on_camera: tuple[bool, ...]
    mouth_set: MouthSet
    settings: FittingSettings
    rate: Fraction
    rests_on: str
    voice: VoiceRange | None = None
    levels_db: tuple[float, ...] = ()
    filmed: Mapping[int, str | None] = field(default_factory=dict)
    pinned: Mapping[int, str] = field(default_factory=dict)
    forbidden: Mapping[int, frozenset[str]] = field(default_factory=dict)

    def __post_init__(self) -> None:
        faults = list(self._faults())
        if faults:
            raise ValueError(f"{self.character}: " + "; ".join(faults))

    def _faults(self) -> Iterator[str]:
        codes = self.mouth_set.by_code
        if self.levels_db and len(self.levels_db) != len(self.on_camera):
            yield f"has levels for {len(self.levels_db)} frames, the shot {len(self.on_camera)}"
        if self.rests_on not in codes:
            yield f"rests on {self.rests_on!r}, which is no piece of its mouth set"
        for what, frames in (("filmed", self.filmed), ("pinned", self.pinned), ("forbidden", self.forbidden)):
            for frame in frames:
                if not 0 <= frame < len(self.on_camera):
                    yield f"frame {frame} is {what}, but the shot has frames 0 to {len(self.on_camera) - 1}"
        for frame, code in self.pinned.items():
            if code not in codes:
                yield f"frame {frame} is pinned to {code!r}, which is no piece of its mouth set"
        for frame, ruled_out in self.forbidden.items():
            if ruled_out.issuperset(codes):
                yield f"frame {frame} has every piece forbidden; leave it one"

    def lead_us(self, sound: Sound) -> int:
        """Return by how many microseconds the mouth of a sound is ahead of it; below 0 if it is behind."""
        lead = self.settings.lead.of(sound.symbol)
        return frame_start_us(lead, self.rate) if lead >= 0 else -frame_start_us(-lead, self.rate)

    def seen_us(self, sound: Sound) -> tuple[int, int]:
        """Return from when to when a sound is seen: as it is heard, moved by its lead."""
        lead_us = self.lead_us(sound)
        return sound.start_us - lead_us, sound.end_us - lead_us

    @property
    def seen(self) -> tuple[bool, ...]:
        """For each frame, whether it shows the character; for a filmed frame, whether it did when it was filmed."""
        if not self.filmed:
            return self.on_camera
        return tuple(
            self.filmed[frame] is not None if frame in self.filmed else on for frame, on in enumerate(self.on_camera)
        )
