"""When each sound's mouth is due: from sounds in time to turns, one after the other, with no gap.

In comes a `Job`, out come `Turn`s in order. A turn is one shape of one sound (a diphthong takes two in order), or a
rest. Its mouth is due from `start_us` up to the next turn's: the sound's own start, earlier by its class's lead, and
by `EARLY_US` so that whole frames fall into the middle of what viewers accept.

Sounds of which the lips must be seen, and stressed vowels, are due for at least a frame. Where that does not fit, for
instance a closure shorter than a frame with no lead before a vowel with one, neighbours give way to both sides, so
that the sum of squared shifts, weighted by what matters to the eye, is least (isotonic regression by pooling
adjacent violators, Ayer and others 1955; from memory).

A silence shorter than `hold.shortest_rest` between sounds is no rest: the mouth before it stays on. A sound keeps its
mouth to its end: silence has no lead.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace

from lipsync.fit.job import Job, voice_range
from lipsync.fit.lips import Row, row_of
from lipsync.fit.sizes import Strength, lips_of, strengths
from lipsync.model import Sound
from lipsync.phonemes import MUST_BE_SEEN, PHONEMES
from lipsync.timing import frame_at, frame_start_us, nearest_frame

# A mouth may be 60 ms ahead of its sound or 40 ms behind (EBU R 37, as secondary sources tabulate it): the middle of
# that is 10 ms ahead. Rounding to the nearest frame from there uses both sides equally.
EARLY_US = 10_000

# How much of a diphthong is its first shape: the glide is the shorter part. Chosen.
_FIRST_SHARE_PERCENT = 60

# What the eye makes of a sound beyond phonemes.TABLE's `seen`: chosen. Stress makes a vowel long, loud and awaited.
_STRESS = {1: 1.5, 2: 1.2, 0: 0.8, None: 1.0}
_CUE_SEEN = 0.8
# Where a sound gives way to rest within a frame: little, so that the mouth stays to the sound's end.
_REST_SEEN = 0.4
# Loudness counts from this much, when quietest, to one more than this, when loudest. Chosen.
_QUIETEST = 0.75
# What is seen of the second shape of a diphthong, against the first. Chosen.
_SECOND_SEEN = 0.8


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
        start_us: when its mouth is due; the next turn's start is its end.
        window: the first and last frame on which its mouth is in the film tolerance: at most two frames before the
            sound and one after. None for a rest and the second shape of a diphthong.
    """

    sound: Sound | None
    second: bool
    shape: str
    lips: Row
    weight: float
    start_us: int
    window: tuple[int, int] | None

    @property
    def must_be_seen(self) -> bool:
        """Whether the lips must be seen to close, or to touch the teeth."""
        return self.sound is not None and self.sound.symbol in MUST_BE_SEEN

    @property
    def stressed(self) -> bool:
        """Whether it is a stressed vowel, or the first shape of one, or a cue: all but never missing."""
        return self.sound is not None and not self.second and (self.sound.stress == 1 or self.sound.is_cue)


def turns_of(job: Job) -> tuple[Turn, ...]:
    """Return all turns of a shot in order, from its first frame to its last."""
    sounds = sorted(job.sounds, key=lambda sound: (sound.start_us, sound.end_us))
    wanted = list(_with_rests(job, sounds))
    frame_us = frame_start_us(1, job.rate)
    starts = _spread(
        [turn.start_us for turn in wanted],
        [frame_us if turn.must_be_seen or turn.stressed else 0 for turn in wanted],
        [turn.weight for turn in wanted],
    )
    return tuple(replace(turn, start_us=start) for turn, start in zip(wanted, starts, strict=True))


def _with_rests(job: Job, sounds: Sequence[Sound]) -> Iterator[Turn]:
    """Yield the turns as wanted: not yet made to fit each other."""
    voice = job.voice or voice_range(sounds)
    shortest_us = frame_start_us(job.settings.hold.shortest_rest, job.rate)
    rest = job.mouth_set.by_code[job.rests_on]
    resting = Turn(None, False, rest.shape, row_of(rest.lips), eye_weight(None), 0, None)
    reached_us: int | None = None
    for sound, strength in zip(sounds, strengths(sounds, voice, job.settings.size), strict=True):
        if reached_us is None:
            # Before the first sound there is rest, however short.
            yield replace(resting, start_us=min(0, sound.start_us) - frame_start_us(8, job.rate))
        elif sound.start_us - reached_us >= max(1, shortest_us):
            yield replace(resting, start_us=reached_us - EARLY_US)
        yield from _turns(job, sound, strength)
        reached_us = max(sound.end_us, reached_us or sound.end_us)
    yield replace(resting, start_us=0 if reached_us is None else reached_us - EARLY_US)


def _turns(job: Job, sound: Sound, strength: Strength) -> Iterator[Turn]:
    lead = job.settings.lead.of(sound.symbol)
    lead_us = frame_start_us(lead, job.rate) if lead >= 0 else -frame_start_us(-lead, job.rate)
    due_us = sound.start_us - lead_us - EARLY_US
    shapes = job.mouth_set.shapes_of(sound.symbol)
    weight = eye_weight(sound, strength)
    lips = lips_of(job.mouth_set, shapes[0], strength.size)
    yield Turn(sound, False, shapes[0], lips, weight, due_us, _window(sound, lead, job))
    for shape in shapes[1:]:
        first_us = (sound.end_us - sound.start_us) * _FIRST_SHARE_PERCENT // 100
        lips = lips_of(job.mouth_set, shape, strength.size)
        yield Turn(sound, True, shape, lips, _SECOND_SEEN * weight, due_us + first_us, None)


def _window(sound: Sound, lead: int, job: Job) -> tuple[int, int]:
    """Return the frames on which the mouth, its lead added, is -2 to +1 frames from its sound, both left out."""
    at = frame_at(sound.start_us, job.rate)
    on_the_cut = frame_start_us(at, job.rate) == sound.start_us
    return at - 1 - lead, at + (0 if on_the_cut else 1) - lead


def _spread(wanted_us: Sequence[int], least_us: Sequence[int], weights: Sequence[float]) -> list[int]:
    """Return starts as near as can be to those wanted, each at least `least_us` after the one before it.

    >>> _spread([0, 10, 100], [40, 0, 0], [1.0, 1.0, 1.0])
    [-15, 25, 100]
    """
    offsets = [0]
    for least in least_us[:-1]:
        offsets.append(offsets[-1] + least)
    pools: list[tuple[float, float, int]] = []  # weight, weighted sum, how many
    for wanted, offset, weight in zip(wanted_us, offsets, weights, strict=False):
        pool = (weight, weight * (wanted - offset), 1)
        while pools and pools[-1][1] * pool[0] > pool[1] * pools[-1][0]:
            before = pools.pop()
            pool = (before[0] + pool[0], before[1] + pool[1], before[2] + pool[2])
        pools.append(pool)
    starts = [round(total / weight) for weight, total, many in pools for _ in range(many)]
    return [start + offset for start, offset in zip(starts, offsets, strict=False)]


def ideal_frame(turn: Turn, job: Job) -> int:
    """Return the frame on which a turn's mouth should first be seen."""
    return nearest_frame(turn.start_us, job.rate)
