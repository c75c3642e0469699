"""When each sound's mouth is due: from sounds in time to turns, one after the other, with no gap.

In: a `Job`. Out: its `Turn`s in order. The mouth of each is due from its `start_us` up to that of the next
turn. This is the start of the sound, earlier by the lead of its class, and by `EARLY_US`, so that whole frames fall
into the middle of what viewers accept (from vowel to vowel by `_GLIDING_US`). Closed lips are not moved by
`EARLY_US`, and the lead of the sound after them is shortened if needed (closures.py). A lead takes at most half of
the time of the mouth before it, so that a short sound keeps some time; this does not limit a sound that must be seen.

Sounds that must be seen, stressed vowels and cues are due for at least a frame. If that does not fit, for instance a
closure shorter than a frame, without lead, before a vowel with lead, neighbours are shifted to both sides, so that
the sum of squared shifts, weighted by what matters to the eye, is least (isotonic regression by pooling adjacent
violators, Ayer and others 1955; from memory).

A silence shorter than `hold.shortest_rest` between sounds is no rest: the mouth before it stays on. A sound keeps its
mouth to its end: a rest has no lead.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace

from lipsync.fit.closures import after_closure_us, is_closure, kept_until_us
from lipsync.fit.fit_job import Job, voice_range
from lipsync.fit.lips import row_of
from lipsync.fit.sizes import Strength, lips_of, strengths
from lipsync.fit.turns import Turn, eye_weight
from lipsync.phonemes import LIP_TO_TEETH, MUST_BE_SEEN, VOWELS
from lipsync.timing import frame_at, frame_start_us, nearest_frame
from lipsync.track import Sound

# A mouth may be 60 ms ahead of its sound or 40 ms behind (EBU R 37, as secondary sources tabulate it): the middle of
# that is 10 ms ahead. Rounding to the nearest frame from there uses both sides equally.
EARLY_US = 10_000
# Where one vowel follows another there is no sharp boundary that a mouth could miss: there the aim is the middle of
# the film tolerance, two frames ahead to one behind, at 24 frames a second. Chosen: 15 to 30 ms give the same
# results.
_GLIDING_US = 20_000

# The part of a diphthong's length that has its first shape: the second is the shorter one. Chosen.
FIRST_SHARE_PERCENT = 60

# What the second shape of a diphthong matters to the eye, as a part of the first. Chosen.
_SECOND_SEEN = 0.7

# Frames before the shot, or before its first sound if that is earlier, from which the first rest lasts. Chosen.
_REST_BEFORE = 8

_LONG_AGO_US = -(1 << 62)  # earlier than any time


def turns_of(job: Job) -> tuple[Turn, ...]:
    """Return all turns of a shot in order, from its first frame to its last."""
    sounds = sorted(job.sounds, key=lambda one: (one.start_us, one.end_us, one.line, one.part, one.symbol))
    wanted = list(_with_rests(job, sounds))
    frame_us = frame_start_us(1, job.rate)
    starts = _spread(
        [turn.start_us for turn in wanted],
        [frame_us if turn.must_be_seen or turn.stressed else 0 for turn in wanted],
        [turn.weight for turn in wanted],
        # Closed lips that are heard in the shot must not be shifted to before its first frame.
        [0 if turn.must_be_seen and turn.sound and turn.sound.start_us >= 0 else None for turn in wanted],
    )
    return tuple(replace(turn, start_us=start) for turn, start in zip(wanted, starts, strict=True))


def _with_rests(job: Job, sounds: Sequence[Sound]) -> Iterator[Turn]:
    """Yield the turns with the times that each wants by itself."""
    voice = job.voice or voice_range(sounds)
    shortest_us = frame_start_us(job.settings.hold.shortest_rest, job.rate)
    rest = job.mouth_set.by_code[job.rests_on]
    resting = Turn(None, False, rest.shape, row_of(rest.lips), eye_weight(None), 0, 0, None)
    reached_us: int | None = None
    before: Turn | None = None  # the first turn of the sound before, if there is no rest between
    kept_us = _LONG_AGO_US
    for sound, strength in zip(sounds, strengths(sounds, voice, job.settings.size), strict=True):
        if reached_us is None:
            # Before the first sound there is always a rest.
            first_us = min(0, sound.start_us) - frame_start_us(_REST_BEFORE, job.rate)
            yield replace(resting, due_us=first_us, start_us=first_us)
        elif sound.start_us - reached_us >= max(1, shortest_us):
            yield _due(resting, reached_us, reached_us, kept_us)
            before = None
        for turn in _turns(job, sound, strength, kept_us, before):
            yield turn
            before = before if turn.second else turn
            if is_closure(sound):
                kept_us = max(kept_us, kept_until_us(job, sound, turn.due_us))
        reached_us = max(sound.end_us, reached_us or sound.end_us)
    yield _due(resting, reached_us or 0, reached_us or 0, kept_us)


def _turns(job: Job, sound: Sound, strength: Strength, kept_us: int, before: Turn | None) -> Iterator[Turn]:
    lead = job.settings.lead.of(sound.symbol)
    led_us = sound.start_us - job.lead_us(sound)
    due_us = led_us
    if before is not None and sound.symbol not in MUST_BE_SEEN:
        due_us = max(led_us, min(sound.start_us, (before.due_us + sound.start_us) // 2))
    shapes = job.mouth_set.shapes_of(sound.symbol)
    weight = eye_weight(sound, strength)
    lips = lips_of(job.mouth_set, shapes[0], strength.size)
    turn = Turn(sound, False, shapes[0], lips, weight, 0, 0, None, strength.size)
    turn = _due(turn, due_us, sound.start_us, kept_us, _GLIDING_US if _glides(before, sound) else EARLY_US)
    yield replace(turn, window=_window(turn, lead, led_us, job))
    for shape in shapes[1:]:
        first_us = (sound.end_us - sound.start_us) * FIRST_SHARE_PERCENT // 100
        lips = lips_of(job.mouth_set, shape, strength.size)
        second = Turn(sound, True, shape, lips, _SECOND_SEEN * weight, 0, 0, None, strength.size)
        yield _due(second, due_us + first_us, sound.start_us + first_us, kept_us)


def _glides(before: Turn | None, sound: Sound) -> bool:
    """Return whether this is a vowel right after another vowel."""
    if before is None or before.sound is None or before.sound.end_us < sound.start_us:
        return False
    return before.sound.symbol in VOWELS and sound.symbol in VOWELS


def _due(turn: Turn, due_us: int, heard_us: int, kept_us: int, early_us: int = EARLY_US) -> Turn:
    """Return a turn with its times, delayed by the frames of a closure before it, which last until `kept_us`."""
    early_us = 0 if is_closure(turn.sound) else early_us
    return replace(
        turn,
        due_us=after_closure_us(due_us, kept_us, heard_us),
        start_us=after_closure_us(due_us - early_us, kept_us, heard_us),
    )


def _window(turn: Turn, lead: int, led_us: int, job: Job) -> tuple[int, int]:
    """Return the frames on which a sound counts as seen.

    They are those on which the mouth, counted from its lead, is less than 2 frames early and at most 1 late: the film
    tolerance. For a sound that must be seen the whole lead counts, even if a closure before it has shortened the
    lead. For lip to teeth only those of these frames count on which it is heard. A vowel or cue counts as seen until
    it ends.
    """
    assert turn.sound is not None
    first_heard, last_heard = (frame_at(us, job.rate) for us in (turn.sound.start_us, turn.sound.end_us - 1))
    if turn.due_us != led_us and not turn.must_be_seen:
        at, lead = frame_at(turn.due_us, job.rate), 0
    else:
        at = first_heard
    first, last = at - 1 - lead, at + 1 - lead
    if turn.sound.symbol in LIP_TO_TEETH:
        first, last = max(first, min(first_heard, last)), min(last, max(last_heard, first))
    elif not turn.must_be_seen:
        last = max(last, last_heard - lead)
    return first, last


def _spread(
    wanted_us: Sequence[int], least_us: Sequence[int], weights: Sequence[float], not_before_us: Sequence[int | None]
) -> list[int]:
    """Return starts as near as possible to the wanted ones; from each to the next are at least its `least_us`.

    >>> _spread([0, 10, 100], [40, 0, 0], [1.0, 1.0, 1.0], [None, None, None])
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
    shifted = (round(total / weight) for weight, total, many in pools for _ in range(many))
    starts: list[int] = []
    bound = _LONG_AGO_US
    for start, offset, not_before in zip(shifted, offsets, not_before_us, strict=False):
        bound = bound if not_before is None else max(bound, not_before - offset)
        starts.append(max(start, bound) + offset)
    return starts


def ideal_frame(turn: Turn, job: Job) -> int:
    """Return the frame on which a turn's mouth should first be seen."""
    return nearest_frame(turn.start_us, job.rate)
