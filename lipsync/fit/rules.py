"""What may be worn on each frame, and what must be seen: the rules that no price overrules.

In: a job and its turns. Out: arrays and demands for cost_matrix.py. The rules, the strongest first: filmed
frames stay; what a person pinned or forbade holds; on twos, if one frame of a pair is filmed, the other keeps its
piece; in a silence that is long enough the mouth rests; closed lips and lip to teeth are seen wherever there are
frames for them; pieces change only on the frames that the studio's setting allows.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Iterator, Mapping, Sequence
from collections.abc import Set as AbstractSet

import numpy as np

from lipsync.fit.cost_matrix import FORBIDDEN, AllowedFittings, Demand, Flags, Whole, whole
from lipsync.fit.fit_job import Job
from lipsync.fit.schedule import ideal_frame
from lipsync.fit.serving import is_due_on_camera, window_frames
from lipsync.fit.turns import Turn
from lipsync.phonemes import MUST_BE_SEEN
from lipsync.timing import frame_at

# Real lips open 0.23 s before the first sound (median, tests/MEASURED.md); up to this long before it the mouth rests.
OPENS_US = 250_000

# Upper bounds, both far above what occurs: of the distance of two mouths (lips.py) times their weight to the eye, and
# of the stressed vowels that one frame may serve.
_MOST_UNLIKE, _MOST_VOWELS = 4.0, 8


def ruled(job: Job, rests: Iterable[int], place: Mapping[int, int], codes: Sequence[str], visual: Whole) -> Whole:
    """Return the visual costs with FORBIDDEN for what may not be worn; the strongest rule is applied last.

    Args:
        job: the job.
        rests: frames on which the mouth rests.
        place: frame on camera -> its row.
        codes: the pieces, in the order of the columns.
        visual: frames on camera x pieces, in whole millionths.
    """
    column = {code: at for at, code in enumerate(codes)}
    own = len(job.mouth_set.piece)
    ruled = visual.copy()
    ruled[:, own:] = FORBIDDEN

    def only(frame: int, code: str) -> None:
        ruled[place[frame]] = FORBIDDEN
        ruled[place[frame], column[code]] = visual[place[frame], column[code]]

    resting_on = frozenset(rests)
    for frame in resting_on:
        only(frame, job.rests_on)
    closed = closures_of(job, codes)
    for frame, worn in _half_filmed(job):
        if frame not in place:
            continue
        if job.settings.on == "twos" or frame in resting_on:
            only(frame, worn)
        elif not closed[column[worn]]:
            others = [at for at, code in enumerate(codes) if code != worn and not closed[at]]
            ruled[place[frame], others] = FORBIDDEN
    for frame, ruled_out in job.forbidden.items():
        if frame in place:
            ruled[place[frame], :own] = visual[place[frame], :own]
            ruled[place[frame], [column[code] for code in ruled_out if code in column]] = FORBIDDEN
    for fixed in (job.pinned, job.filmed):
        for frame, code in fixed.items():
            if frame in place and code is not None:
                only(frame, code)
    return ruled


def _half_filmed(job: Job) -> Iterator[tuple[int, str]]:
    """Yield each frame that is not filmed while the other frame of its pair is, with the piece of that one.

    Pairs are counted from the shot's first frame, as those who shoot on twos count them. Both frames of a pair are
    one pose, so the frame still to be filmed keeps the piece, unless a person chose otherwise or the set no longer
    has it.
    """
    own = job.mouth_set.by_code
    for frame, code in job.filmed.items() if job.settings.on != "ones" else ():
        other = frame ^ 1
        if code in own and not any(other in fixed for fixed in (job.filmed, job.pinned, job.forbidden)):
            yield other, str(code)


def resting(job: Job, turns: Sequence[Turn], place: Mapping[int, int]) -> Iterator[int]:
    """Yield the frames on which nothing is said, so that the mouth rests.

    On the frame after a sound, and while the lips open before the next one, the mouth need not rest. If pieces change
    only on every other frame, one more frame is left free at both ends.
    """
    frames = len(job.on_camera)
    margin = 0 if job.settings.on == "ones" else 1
    opens = frame_at(OPENS_US, job.rate)
    for turn, after in zip(turns, [*turns[1:], None], strict=True):
        if turn.sound is None:
            first = ideal_frame(turn, job) + 1 + margin
            first = 0 if turn is turns[0] else max(0, first)
            end = frames if after is None else min(frames, ideal_frame(after, job) - opens - margin)
            yield from (frame for frame in range(first, end) if frame in place)


def allowed_on(job: Job, seen: Sequence[bool], frame: int) -> AllowedFittings:
    """Return which fittings a frame allows; a piece chosen by a person may begin and end on any frame."""
    back = frame > 0 and not seen[frame - 1]
    by_hand = any(f in fixed for f in (frame - 1, frame) for fixed in (job.filmed, job.pinned, job.forbidden))
    if job.settings.on == "ones" or frame % 2 == 0 or by_hand or back:
        return AllowedFittings.ALL
    return AllowedFittings.CLOSURES if job.settings.on == "mixed" else AllowedFittings.NONE


def must_price(job: Job) -> int:
    """Return the price, in whole millionths, of missing a sound that must be seen: above what showing it can cost.

    To show it, its piece is put on for a frame, or for two on twos: that costs two fittings, up to three holds that
    become short, and the frames on which another mouth, another closure or a stressed vowel would have been.
    """
    price, shortest = job.settings.price, job.settings.hold.shortest
    changes = 2 * (price.fitting + price.jump * _MOST_UNLIKE) + 3 * shortest * price.short_hold
    frames = 2 * (_MOST_UNLIKE * _MOST_VOWELS + price.closed_lips + price.lip_to_teeth)
    return whole(1 + changes + frames + _MOST_VOWELS * price.missed_stress)


def closures_of(job: Job, codes: Sequence[str]) -> Flags:
    """Return for each piece whether it closes the lips or sets them to the teeth."""
    shapes = {shape for symbol in MUST_BE_SEEN for shape in job.mouth_set.shapes_of(symbol)}
    by_code = job.mouth_set.by_code
    return np.array([code in by_code and by_code[code].shape in shapes for code in codes])


def demands_of(
    job: Job,
    turns: Sequence[Turn],
    seen_in: Sequence[AbstractSet[str]],
    place: Mapping[int, int],
    codes: Sequence[str],
) -> tuple[tuple[Demand, ...], tuple[int, ...]]:
    """Return what is to be seen, and for each demand how many sounds it is for that must be seen.

    That number is 0 for stressed vowels and cues, which should be seen. Equal demands become one with a higher price.

    Args:
        job: the job.
        turns: its turns.
        seen_in: for each turn, the codes of the pieces in which it is seen.
        place: frame on camera -> its row.
        codes: the pieces, in the order of the columns.
    """
    spans: list[tuple[int, int, AbstractSet[str], bool]] = []
    seen = job.seen
    for index, turn in enumerate(turns):
        if (turn.must_be_seen or turn.stressed) and is_due_on_camera(turn, job, seen):
            frames = window_frames(turn, seen)
            if frames:
                span = place[frames[0]], place[frames[-1]]
                spans.append((*span, seen_in[index], turn.must_be_seen))
    stress, missed = whole(job.settings.price.missed_stress), must_price(job)
    found = Counter(_in_order(spans))
    demands = tuple(
        Demand(
            first,
            last,
            frozenset(at for at, code in enumerate(codes) if code in seen),
            times * (missed if must else stress),
        )
        for (first, last, seen, must), times in found.items()
    )
    return demands, tuple(times if must else 0 for (_, _, _, must), times in found.items())


def _in_order(
    spans: Sequence[tuple[int, int, AbstractSet[str], bool]],
) -> Iterator[tuple[int, int, AbstractSet[str], bool]]:
    """Yield the spans; a vowel's is cut so that closures before and after it keep a frame in their order."""
    for index, (first, last, codes, must) in enumerate(spans):
        if not must:
            before = spans[index - 1] if index else None
            after = spans[index + 1] if index + 1 < len(spans) else None
            first = max(first, before[0] + 1) if before and before[3] else first
            last = min(last, after[1] - 1) if after and after[3] else last
        if first <= last:
            yield first, last, codes, must
