"""Where phones begin: the probability of each boundary, summed over all ways to place the phones in the sound.

In: for each phone the steps that it may cover, the scores of its states there, and the probability of each duration;
and the log likelihood of a boundary at each step. Out: for each phone the probability that it begins at each step. A
pause may also be left out.

A phone passes through its states in order, and stays in each for one step or more; all ways to divide its duration
among them are equally likely. The duration of the whole phone has a probability of its own (a hidden semi-Markov
model: Rabiner 1989, Proceedings of the IEEE 77(2):257-286, section IV.D). For a silence all durations are equally
likely. Times are in steps. A phone of one step that begins at step k - 1 ends at step k.

Within a phone, numbers are likelihoods divided by that of the best state at each step, so that they can simply be
added. Between phones they are logarithms, shifted for each phone so that the largest is 0. A number too small for a
float belongs to a way so unlikely that it makes no difference. A phone that may last for seconds is the exception: on
likely ways too, it loses a little at each step, and becomes as small. For such phones all numbers are logarithms.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from itertools import pairwise

import numpy as np

from lipsync.audio.features import Floats

TOGETHER = 16  # so many phones of similar length are computed together; more would not fit in the processor's cache

# Chosen: a phone that may last so many steps is computed in logarithms. A shorter one would have to lose 1.7 (as a
# logarithm) at each step to become too small for a float.
LONG = 400

UNSURE = 0.001  # chosen: a pause less likely than this moves no boundary

_Entered = tuple[Floats, Floats]  # see `_entered`


class NoPathError(Exception):
    """The phones do not fit into the sound in this order and near these places."""


@dataclass(frozen=True, slots=True, eq=False)
class SegmentRange:
    """One phone and the steps that it may cover.

    Attributes:
        first: the first of the steps.
        scores: log likelihoods, of shape (steps, states).
        durations: log probability of lasting 1, 2 ... steps, as long as `scores` or longer; None for a silence, whose
            durations are equally likely.
        pause: log likelihood that this silence is there at all; None if it certainly is, and for phones.
        least: the least number of steps that a silence lasts.
    """

    first: int
    scores: Floats
    durations: Floats | None
    pause: float | None = None
    least: int = 1

    @property
    def end(self) -> int:
        """The first step after those that it may cover."""
        return self.first + len(self.scores)


def beginnings(stretches: Sequence[SegmentRange], boundary: Floats) -> list[Floats | None]:
    """Return for each phone the probability that it begins at each of its steps; None for a pause judged absent.

    Args:
        stretches: the phones in order; the first begins at step 0, the last ends with the sound; no two pauses follow
            each other.
        boundary: log likelihood of a boundary at each step of the sound.

    Raises:
        NoPathError: if there is no way through.
    """
    laid = _laid(stretches)
    with np.errstate(divide="ignore"):
        begins, there = _marginals(stretches, laid, boundary)
        if not any(UNSURE < share < 1 - UNSURE for share in there):
            return [own if share > 0.5 else None for own, share in zip(begins, there, strict=True)]
        # First it is decided which pauses are there; then all boundaries are computed with these decisions. Otherwise
        # one boundary would assume that a pause is there and the next that it may not be, and they could cross.
        kept = [k for k, share in enumerate(there) if share > 0.5]
        decided = [replace(stretches[k], pause=None) for k in kept]
        again, _ = _marginals(decided, [laid[k] for k in kept], boundary)
    by_place = dict(zip(kept, again, strict=True))
    return [by_place.get(k) for k in range(len(stretches))]


def _marginals(
    stretches: Sequence[SegmentRange], laid: Sequence[_Segments], boundary: Floats
) -> tuple[list[Floats], list[float]]:
    """Return for each phone the probability that it begins at each of its steps, and that it is there at all."""
    entered = _entered(stretches, laid, boundary)
    left = _left(stretches, laid, boundary)
    whole = _total(entered[0][0] + left[0])
    _most(np.array([whole]))
    there = [
        1.0 if one.pause is None else float(np.exp(min(0.0, _total(after + begins) - whole)))
        for one, (after, _), begins in zip(stretches, entered, left, strict=True)
    ]
    begin_shares = [
        _shares((after if one.pause is not None else np.logaddexp(after, past)) + begins)
        if share > 0
        else np.zeros(len(begins))
        for one, share, (after, past), begins in zip(stretches, there, entered, left, strict=True)
    ]
    return begin_shares, there


def _laid(stretches: Sequence[SegmentRange]) -> list[_Segments]:
    """Return all ways to place each phone; phones of similar length are computed together."""
    lengths = {k: len(phone.scores) for k, phone in enumerate(stretches) if phone.durations is not None}
    long = {k: _LongSegments(stretches[k]) for k, length in lengths.items() if length >= LONG}
    lengths = {k: length for k, length in lengths.items() if k not in long}
    order = sorted(lengths, key=lengths.__getitem__)
    phones: dict[int, _PhoneSegments] = {}
    for at in range(0, len(order), TOGETHER):
        some = order[at : at + TOGETHER]
        phones |= zip(some, _phones([stretches[k] for k in some]), strict=True)
    spoken: dict[int, _Segments] = {**long, **phones}
    return [spoken.get(k) or _SilenceSegments(phone.scores, phone.least) for k, phone in enumerate(stretches)]


def _phones(stretches: Sequence[SegmentRange]) -> Iterator[_PhoneSegments]:
    """Yield all ways to place each phone; in `ways[d - 1, s]` are those that last d steps from step s."""
    best = [phone.scores.max(axis=1) for phone in stretches]
    most, count = max(map(len, best)), stretches[0].scores.shape[1]
    states, lasts = np.zeros((count, len(best), most)), np.zeros((len(best), most))
    for k, (phone, top) in enumerate(zip(stretches, best, strict=True)):
        states[:, k, : len(top)] = np.exp(phone.scores - top[:, None]).T
        if phone.durations is not None:
            lasts[k, : len(top)] = np.exp(phone.durations[: len(top)])
    ways = np.zeros((len(best), most, most))
    reached = np.zeros(states.shape)  # (state, phone, first step): sum of the ways that are in this state by now
    reached[0] = states[0]
    for more in range(most):
        if more:
            reached = reached[..., :-1]
            for state in range(count - 1, 0, -1):
                reached[state] += reached[state - 1]
            reached *= states[..., more:]
        np.multiply(reached[-1], lasts[:, more, None], out=ways[:, more, : most - more])
    for own, top in zip(ways, best, strict=True):
        yield _PhoneSegments(top, own[: len(top), : len(top)])


def _entered(stretches: Sequence[SegmentRange], laid: Sequence[_Segments], boundary: Floats) -> list[_Entered]:
    """Return two arrays for each phone: the log likelihood of all ways to begin it at each of its steps.

    The first is for the ways that come from the phone before it; the second for those that come from the one before
    that, with the pause between left out.
    """
    none = np.full(len(stretches[0].scores), -np.inf)
    entered = [(_only(len(none), 0), none)]
    ends: list[Floats] = []
    for k, (before, one) in enumerate(pairwise(stretches)):
        ends.append(laid[k].ends(np.logaddexp(*entered[k])))
        own = boundary[one.first : one.end] + (one.pause or 0.0)
        after = _placed(ends[k], before.first + 1, one) + own
        past = np.full(len(one.scores), -np.inf)
        if before.pause is not None:
            past = _placed(ends[k - 1], stretches[k - 1].first + 1, one) + own
        entered.append((after, past))
    return entered


def _left(stretches: Sequence[SegmentRange], laid: Sequence[_Segments], boundary: Floats) -> list[Floats]:
    """Return the log of all ways from the beginning of each phone to the end of the sound."""
    left = [laid[-1].begins(_only(len(stretches[-1].scores), -1))]
    for k in range(len(stretches) - 2, -1, -1):
        behind = np.full(len(stretches[k].scores), -np.inf)
        skipped = stretches[k + 1].pause is not None
        for one, begins in zip(stretches[k + 1 : k + 3], left[: -3 if skipped else -2 : -1], strict=False):
            onward = begins + boundary[one.first : one.end] + (one.pause or 0.0)
            behind = np.logaddexp(behind, _placed(onward, one.first - 1, stretches[k]))
        left.append(laid[k].begins(behind))
    return left[::-1]


class _PhoneSegments:
    """The summed likelihood of all ways to place a phone between a first step and an end.

    `best` is the log likelihood of the best state at each step; `ways` the likelihoods of `_phones`, divided by it.
    """

    def __init__(self, best: Floats, ways: Floats) -> None:
        self._sum = np.append(0.0, np.cumsum(best))
        self._ways = ways

    def ends(self, begun: Floats) -> Floats:
        """Return the log likelihood of all ways up to each end, from that of all ways up to each first step."""
        log = begun - self._sum[:-1]
        most = _most(log)
        steps = len(log)
        ways = np.zeros((steps, 2 * steps))
        ways[:, :steps] = self._ways * np.exp(log - most)
        # Row d moves to the right by d, so that each column holds the ways to one end.
        slanted = ways.ravel()[: steps * (2 * steps - 1)].reshape(steps, 2 * steps - 1)
        out: Floats = np.log(slanted[:, :steps].sum(axis=0)) + most + self._sum[1:]
        return out

    def begins(self, ended: Floats) -> Floats:
        """Return the log likelihood of all ways from each first step on, from that of all ways from each end on."""
        log = ended + self._sum[1:]
        most = _most(log)
        steps = len(log)
        after = np.lib.stride_tricks.sliding_window_view(np.append(np.exp(log - most), np.zeros(steps - 1)), steps)
        out: Floats = np.log(np.einsum("ds,ds->s", self._ways, after)) + most - self._sum[:-1]
        return out


class _LongSegments:
    """The same as `_PhoneSegments` for a phone that may last very long: all numbers are logarithms."""

    def __init__(self, phone: SegmentRange) -> None:
        best = phone.scores.max(axis=1)
        steps, count = phone.scores.shape
        lasts = np.zeros(steps) if phone.durations is None else phone.durations[:steps]
        states = (phone.scores - best[:, None]).T
        self._sum = np.append(0.0, np.cumsum(best))
        self._ways = np.full((steps, steps), -np.inf)
        reached = np.full(states.shape, -np.inf)
        reached[0] = states[0]
        for more in range(steps):
            if more:
                reached = reached[:, :-1]
                reached[1:] = np.logaddexp(reached[1:], reached[:-1])
                reached += states[:, more:]
            self._ways[more, : steps - more] = reached[count - 1] + lasts[more]

    def ends(self, begun: Floats) -> Floats:
        """The same as for a phone."""
        steps = len(begun)
        ways = np.full((steps, 2 * steps), -np.inf)
        ways[:, :steps] = self._ways + (begun - self._sum[:-1])
        slanted = ways.ravel()[: steps * (2 * steps - 1)].reshape(steps, 2 * steps - 1)[:, :steps]
        out: Floats = _summed(slanted) + self._sum[1:]
        return out

    def begins(self, ended: Floats) -> Floats:
        """The same as for a phone."""
        steps = len(ended)
        padded = np.append(ended + self._sum[1:], np.full(steps - 1, -np.inf))
        out: Floats = _summed(self._ways + np.lib.stride_tricks.sliding_window_view(padded, steps)) - self._sum[:-1]
        return out


class _SilenceSegments:
    """The same as `_PhoneSegments` for a silence of any duration from `least` on, in the best state at each step."""

    def __init__(self, scores: Floats, least: int) -> None:
        self._sum = np.append(0.0, np.cumsum(scores.max(axis=1)))
        self._short = np.full(min(least - 1, len(scores)), -np.inf)

    def ends(self, begun: Floats) -> Floats:
        """The same as for a phone."""
        ways = np.logaddexp.accumulate(begun - self._sum[:-1])
        out: Floats = np.append(self._short, ways)[: len(ways)] + self._sum[1:]
        return out

    def begins(self, ended: Floats) -> Floats:
        """The same as for a phone."""
        ways = np.logaddexp.accumulate((ended + self._sum[1:])[::-1])[::-1]
        out: Floats = np.append(ways, self._short)[len(self._short) :] - self._sum[:-1]
        return out


_Segments = _PhoneSegments | _LongSegments | _SilenceSegments


def _summed(logs: Floats) -> Floats:
    """Return for each column of logarithms the logarithm of the sum of what they stand for."""
    most = logs.max(axis=0)
    shift = np.where(np.isfinite(most), most, 0.0)
    out: Floats = np.log(np.exp(logs - shift).sum(axis=0)) + shift
    return out


def _only(count: int, at: int) -> Floats:
    """Return the logs of 0 but for a 1 at one place."""
    log = np.full(count, -np.inf)
    log[at] = 0.0
    return log


def _most(log: Floats) -> float:
    """Return the largest log, by which the others are shifted.

    Raises:
        NoPathError: if all stand for 0.
    """
    most = float(log.max())
    if not np.isfinite(most):
        raise NoPathError
    return most


def _placed(log: Floats, first: int, stretch: SegmentRange) -> Floats:
    """Return `log`, whose first entry is for step `first`, cut to the steps of a phone; elsewhere the log of 0."""
    out = np.full(len(stretch.scores), -np.inf)
    low, high = max(first, stretch.first), min(first + len(log), stretch.end)
    if low < high:
        out[low - stretch.first : high - stretch.first] = log[low - first : high - first]
    return out


def _total(log: Floats) -> float:
    """Return the logarithm of the sum."""
    return float(np.logaddexp.reduce(log))


def _shares(log: Floats) -> Floats:
    """Return the probabilities, which sum to 1, for log likelihoods."""
    weights = np.exp(log - _most(log))
    shares: Floats = weights / weights.sum()
    return shares
