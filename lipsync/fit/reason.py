"""What decided on a frame, in one sentence.

In: a shot's numbers, its track of least cost and what each piece would cost on the frame. Out: the sentence.
It names what decided: a filmed or pinned piece, a rest, closed lips that keep to their sound, a sound that must be
seen, or the costs. Whether a rule decided is found by fitting the shot without the rule.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from lipsync.fit.closures import frames_of, is_closure
from lipsync.fit.cost_matrix import FORBIDDEN, CostMatrix
from lipsync.fit.costs import Weighing
from lipsync.fit.fit_job import SHUTTER_US
from lipsync.fit.lips import AXES
from lipsync.fit.optimum import Solution, solve
from lipsync.fit.turns import Turn
from lipsync.phonemes import LIP_TO_TEETH
from lipsync.timing import frame_start_us
from lipsync.wording import phrase

# How many sounds are named for what the lips do on a frame, at most; and the least share of such a sound. Chosen.
_MOST_NAMED, _LEAST_NAMED = 3, 0.15


@dataclass(frozen=True, slots=True)
class PieceCost:
    """What one piece would cost on the frame.

    Attributes:
        code: the piece.
        unlike: how unlike it is to what the lips do on this frame, in the unit of fit_settings.py.
        more: how much more than its least cost the whole shot would cost with this piece here; None if the piece may
            not be worn here.
    """

    code: str
    unlike: float
    more: float | None


def decided(weighing: Weighing, best: Solution, at: int, pieces: Sequence[PieceCost]) -> str:
    """Return in one sentence why a frame wears its piece.

    Args:
        weighing: the shot's numbers.
        best: its track of least cost.
        at: index of the frame among those on camera.
        pieces: what each piece would cost there, in the order of the columns.
    """
    job, frame, chosen = weighing.job, weighing.frames[at], best.pieces[at]
    code = weighing.codes[chosen]
    if frame in job.filmed:
        return phrase("worn: filmed", code=code)
    if frame in job.pinned:
        return phrase("worn: pinned", code=code)
    others = [piece for piece in pieces if piece.code != code and piece.more is not None]
    if not others:
        return _only_one(weighing, frame, code)
    needed = _kept_by(weighing, best, at) or _needed_by(weighing, best, at)
    if needed:
        return needed
    runner_up = min(others, key=lambda piece: piece.more or 0.0)
    nearest = min(pieces, key=lambda piece: piece.unlike)
    rest = phrase("worn: next best", code=runner_up.code, more=runner_up.more)
    if nearest.code == code or nearest.unlike == pieces[chosen].unlike:
        return phrase("worn: nearest", code=code, rest=rest)
    if nearest.more is None:
        return phrase("worn: nearest not allowed", nearest=nearest.code, rest=rest)
    worn_around = [best.pieces[near] for near in (at - 1, at + 1) if 0 <= near < len(best.pieces)]
    if chosen in worn_around:
        saved = phrase("worn: held on", code=code, more=nearest.more)
    else:
        saved = phrase("worn: costs less", more=nearest.more)
    if runner_up.code == nearest.code:
        return phrase("worn: saved", nearest=nearest.code, saved=saved)
    return phrase("worn: saved, next best", nearest=nearest.code, saved=saved, rest=rest)


def lips_on(weighing: Weighing, frame: int) -> str:
    """Return in one sentence what the lips do on a frame, and for which sounds.

    It names up to `_MOST_NAMED` sounds with the largest shares of the opening: the one that is heard when the picture
    is taken, those that have ended before, and those that begin later.
    """
    job, asked = weighing.job, weighing.asked
    opening, width = (float(asked.rows[frame, list(AXES).index(axis)]) for axis in ("opening", "width"))
    moment_us = frame_start_us(frame, job.rate) + SHUTTER_US
    weights = asked.weights_on(frame)
    most = sorted(sorted(weights, key=lambda turn: -weights[turn])[:_MOST_NAMED])
    leaving, heard, coming = list[str](), list[str](), list[str]()
    for index in most:
        turn = weighing.turns[index]
        if weights[index] < _LEAST_NAMED:
            continue
        span = None if turn.sound is None else job.seen_us(turn.sound)
        where = (
            heard if span is None or span[0] <= moment_us < span[1] else leaving if span[1] <= moment_us else coming
        )
        where.append(_name(turn))
    parts = [
        phrase(kind, sounds=_all_of(names))
        for kind, names in (("lips: for", heard), ("lips: coming from", leaving), ("lips: on the way to", coming))
        if names
    ]
    return phrase("lips: here", opening=opening, width=width, sounds="".join(f", {part}" for part in parts))


def _all_of(names: Sequence[str]) -> str:
    """Return names as one text, each once."""
    return phrase("and").join(dict.fromkeys(names))


def _name(turn: Turn) -> str:
    if turn.sound is None:
        return phrase("rest")
    sound = turn.sound
    return sound.text if sound.is_cue else phrase("sound of a word", symbol=sound.symbol, word=sound.text)


def _only_one(weighing: Weighing, frame: int, code: str) -> str:
    """Return why no other piece may be worn on a frame that is neither filmed nor pinned (`rules.ruled`)."""
    job = weighing.job
    if job.forbidden.get(frame):
        return phrase("worn: others kept off", code=code)
    if job.settings.on != "ones" and job.filmed.get(frame ^ 1) == code:
        return phrase("worn: one pose", code=code)
    return phrase("worn: at rest", code=code)


def _without_closures(problem: CostMatrix, weighing: Weighing) -> CostMatrix:
    """Return a problem in which closed lips, and a lip under the teeth, may depart from their sound at no cost."""
    ruled_out = problem.unlike >= FORBIDDEN
    return replace(problem, unlike=np.where(ruled_out, FORBIDDEN, problem.unlike - weighing.closed))


def _kept_by(weighing: Weighing, best: Solution, at: int) -> str | None:
    """Return the sentence that closed lips, or lip to teeth, keep to their sound; None if that does not decide."""
    if not weighing.closed[at].any():
        return None
    instead = solve(_without_closures(weighing.problem, weighing)).pieces[at]
    if instead == best.pieces[at] or not weighing.closed[at, instead]:
        return None
    frame, would = weighing.frames[at], phrase("worn: else", code=weighing.codes[instead])
    for turn in weighing.turns:
        if turn.sound is not None and is_closure(turn.sound) and frame in frames_of(weighing.job, turn):
            return phrase("worn: lips closed", sound=_name(turn), would=would)
    shape = weighing.job.mouth_set.by_code[weighing.codes[instead]].shape
    if any(shape in weighing.job.mouth_set.shapes_of(symbol) for symbol in LIP_TO_TEETH):
        return phrase("worn: not at the teeth", would=would)
    return phrase("worn: lips not closed", would=would)


def _needed_by(weighing: Weighing, best: Solution, at: int) -> str | None:
    """Return the sentence that a sound must be seen on this frame; None if that does not decide."""
    demands = weighing.problem.demands
    for index, (demand, must) in enumerate(zip(demands, weighing.must, strict=True)):
        span = range(max(0, demand.first), min(len(best.pieces) - 1, demand.last) + 1)
        if at not in span or best.pieces[at] not in demand.pieces:
            continue
        others = replace(weighing.problem, demands=demands[:index] + demands[index + 1 :])
        instead = solve(_without_closures(others, weighing) if must else others).pieces[at]
        if instead not in demand.pieces:
            code = weighing.codes[best.pieces[at]]
            sounds = _sounds_for(
                weighing, code, (weighing.frames[span[0]], weighing.frames[span[-1]]), must=bool(must)
            )
            would = phrase("worn: else", code=weighing.codes[instead])
            return phrase("worn: must be seen" if must else "worn: not to be missed", sounds=sounds, would=would)
    return None


def _sounds_for(weighing: Weighing, code: str, span: tuple[int, int], *, must: bool) -> str:
    """Return the names of the sounds of a piece's shape that are to be seen within a span of frames."""
    piece = weighing.job.mouth_set.by_code[code]
    found = [
        _name(turn)
        for turn in weighing.turns
        if turn.sound is not None
        and turn.window is not None
        and turn.shape == piece.shape
        and (turn.must_be_seen if must else turn.stressed)
        and turn.window[0] <= span[1]
        and turn.window[1] >= span[0]
    ]
    return _all_of(found) or phrase("a sound")
