"""What the lips are to do one after the other, and how much each matters to the eye.

A `Turn` is one shape of one sound (a diphthong takes two in order), or a rest. `eye_weight` is the one rule by which
sounds compete for frames.
"""

from __future__ import annotations

from dataclasses import dataclass

from lipsync.fit.lips import LipsRow
from lipsync.fit.sizes import MIDDLING, Strength
from lipsync.phonemes import MUST_BE_SEEN, PHONEMES
from lipsync.track import Sound

# What the eye makes of a sound beyond phonemes.TABLE's `seen`: chosen. Stress makes a vowel long, loud and awaited.
_STRESS = {1: 1.5, 2: 1.2, 0: 0.8, None: 1.0}
_CUE_SEEN = 0.8
# Where a sound gives way to rest within a frame: little, so that the mouth stays to the sound's end.
_REST_SEEN = 0.35
# Loudness counts from this much, when quietest, to a half more than this, when loudest. Chosen.
_QUIETEST = 0.75


def eye_weight(sound: Sound | None, strength: Strength | None = None) -> float:
    """Return how much a frame filled by this sound matters to the eye: the one rule by which sounds compete.

    What phonemes.TABLE says is seen of it, times stress, times loudness; each competes by this times its overlap
    with the frame.
    """
    if sound is None:
        return _REST_SEEN
    seen = _CUE_SEEN if sound.is_cue else PHONEMES[sound.symbol].seen
    loudness = 1.0 if strength is None else _QUIETEST + strength.loudness / 2
    return seen * _STRESS[sound.stress] * loudness


@dataclass(frozen=True, slots=True)
class Turn:
    """One shape of one sound, or a rest, and when its mouth is due.

    Attributes:
        sound: the sound; None for a rest.
        second: whether it is the second shape of a diphthong.
        shape: the shape that the mouth set gives it.
        lips: what the lips do, in the size that the sound asks for.
        weight: how much a frame that it fills matters to the eye.
        due_us: when its mouth is due by its lead, by half of the mouth before it, or by the closure before it.
        start_us: when it is weighed from: `due_us` made to fit its neighbours; the next turn's start is its end.
        window: the first and last frame on which its mouth counts as seen (schedule.py). None for a rest and the
            second shape of a diphthong.
        size: how large the sound asks its mouth to be, 0 to 1.
    """

    sound: Sound | None
    second: bool
    shape: str
    lips: LipsRow
    weight: float
    due_us: int
    start_us: int
    window: tuple[int, int] | None
    size: float = MIDDLING

    @property
    def must_be_seen(self) -> bool:
        """Whether the lips must be seen to close, or to touch the teeth."""
        return self.sound is not None and self.sound.symbol in MUST_BE_SEEN

    @property
    def stressed(self) -> bool:
        """Whether it is a stressed vowel, or the first shape of one, or a cue: all but never missing."""
        return self.sound is not None and not self.second and (self.sound.stress == 1 or self.sound.is_cue)
