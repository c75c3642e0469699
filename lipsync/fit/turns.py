"""`Turn`: one shape of one sound (a diphthong may have two in order), or a rest; and how much it matters to the eye.

`eye_weight` is the only rule by which sounds compete for frames.
"""

from __future__ import annotations

from dataclasses import dataclass

from lipsync.fit.lips import LipsRow
from lipsync.fit.sizes import MIDDLING, Strength
from lipsync.phonemes import MUST_BE_SEEN, PHONEMES
from lipsync.track import Sound

# Stress of a sound -> factor of its weight beside `seen` of phonemes.TABLE. Chosen: a stressed vowel is long, loud
# and expected.
_STRESS = {1: 1.5, 2: 1.2, 0: 0.8, None: 1.0}
# `seen` of a cue. Chosen.
_CUE_SEEN = 0.8
# Weight of a rest. Chosen: small, so that the mouth of a sound stays to the end of the frame in which it ends.
_REST_SEEN = 0.35
# Factor of the quietest sound; that of the loudest is larger by a half. Chosen.
_QUIETEST = 0.75


def eye_weight(sound: Sound | None, strength: Strength | None = None) -> float:
    """Return how much a frame filled by this sound, or by a rest if it is None, matters to the eye.

    This is `seen` of phonemes.TABLE times a factor for stress times a factor for loudness. Where several sounds fill
    parts of a frame, each counts by this times its part.
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
        lips: what the lips do for this shape, in the size of the sound's mouth.
        weight: how much a frame that it fills matters to the eye.
        due_us: when its mouth is due, by its lead, limited by the mouth or the closure before it (schedule.py).
        start_us: from when it counts: `due_us` fitted to its neighbours; the start of the next turn is its end.
        window: the first and last frame on which its mouth counts as seen (schedule.py). None for a rest and the
            second shape of a diphthong.
        size: how large the sound's mouth is, 0 to 1.
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
        """Whether it is a stressed vowel (of a diphthong the first shape), or a cue: it should be seen."""
        return self.sound is not None and not self.second and (self.sound.stress == 1 or self.sound.is_cue)
