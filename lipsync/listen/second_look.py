"""Second look: where between two phonemes the boundary lies, asked of the acoustic model every 5 ms.

In: features and the phones that the recogniser chose, with the steps at which it placed them (they bound the search).
Out: the start of each phone in steps, as the median of the boundary's probability, and the line's log likelihood a
step, by which readings of the line are compared.

The probability of a boundary is summed over all paths, forward and backward (Rabiner 1989, Proceedings of the IEEE
77(2):257-286, section III), instead of taken from the best path; scores are flattened by `SHARPNESS`; each phone is
heard half alone and half between its neighbours. All three are measured to be nearer to hand-placed boundaries.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from lipsync.listen.acoustic_model import SINGLE, STATES, AcousticModel, Floats
from lipsync.listen.features import PER_TICK
from lipsync.phonemes import SILENCE

SHARPNESS = 0.2  # chosen on speakers left out: 0.1 to 0.4 differ little
REACH = 150  # steps by which a phone may be moved: 0.75 s


@dataclass(frozen=True, slots=True)
class Placed:
    """A phone as the recogniser placed it: where it stands in its word (`acoustic_model`), its start in steps."""

    symbol: str
    start_step: float
    place: int = SINGLE


class NoPathError(Exception):
    """The phones do not fit into the sound in this order and near these places."""


def look(model: AcousticModel, features: Floats, phones: Sequence[Placed], unlikely: Floats) -> tuple[Floats, float]:
    """Return the start of each phone in steps, and the log likelihood a step.

    Args:
        model: the acoustic model.
        features: one row a step.
        phones: in order, the first and the last a silence.
        unlikely: how much a silence loses at each step.

    Raises:
        NoPathError: if there is no way through.
    """
    scores = _state_scores(model, features, phones, unlikely)
    entering, likelihood = _entries(model, phones, scores)
    return _medians(entering), likelihood


def _state_scores(model: AcousticModel, features: Floats, phones: Sequence[Placed], unlikely: Floats) -> Floats:
    """Return log likelihoods of (steps, states), minus infinity outside a phone's reach."""
    spans = _spans(phones, len(features))
    out = np.full((len(features), STATES * len(phones)), -np.inf)
    for symbol in dict.fromkeys(phone.symbol for phone in phones):
        places = [i for i, phone in enumerate(phones) if phone.symbol == symbol]
        reached = np.zeros(len(features), bool)
        for i in places:
            reached[slice(*spans[i])] = True
        rows = np.flatnonzero(reached)
        densities = model.densities(features[rows], symbol)
        alone = model.scores(densities, model.states(symbol))
        for i in places:
            first, last = np.searchsorted(rows, spans[i])
            before = phones[i - 1].symbol if i else SILENCE
            after = phones[i + 1].symbol if i + 1 < len(phones) else SILENCE
            near = [(relative[first:last], best[first:last]) for relative, best in densities]
            between = model.scores(near, model.states_between(symbol, before, after, phones[i].place))
            score = 0.5 * alone[first:last] + 0.5 * between
            if symbol == SILENCE:
                score -= unlikely[slice(*spans[i]), None]
            out[slice(*spans[i]), STATES * i : STATES * (i + 1)] = score
    return out


def _spans(phones: Sequence[Placed], steps: int) -> list[tuple[int, int]]:
    """Return the steps that each phone may cover: first and last reach the ends, none opens before one before it."""
    starts = np.array([phone.start_step for phone in phones])
    ends = np.append(starts[1:], steps)
    first = np.maximum.accumulate(np.clip(np.floor(starts - REACH), 0, steps - 1)).astype(int)
    last = np.minimum.accumulate(np.clip(np.ceil(ends + REACH), 1, steps)[::-1])[::-1].astype(int)
    first[0], last[-1] = 0, steps
    return list(zip(first.tolist(), last.tolist(), strict=True))


def _entries(model: AcousticModel, phones: Sequence[Placed], scores: Floats) -> tuple[Floats, float]:
    """Return the probability of (steps, phones) that a phone begins at a step, and the log likelihood a step."""
    stay = np.clip(np.concatenate([model.stay(phone.symbol) for phone in phones]), 0.05, 0.98) ** (1 / PER_TICK)
    stay, leave = np.log(stay), np.log(1 - stay)
    scaled = scores * (SHARPNESS / PER_TICK)
    within = np.isfinite(scaled)
    low, high = within.argmax(axis=1), scaled.shape[1] - within[:, ::-1].argmax(axis=1)
    ahead = _forward(scaled, stay, leave, (low, high))
    if not np.isfinite(ahead[-1, -1]):
        raise NoPathError
    return _backward(scaled, stay, leave, (low, high), ahead), float(ahead[-1, -1]) / len(scaled)


Band = tuple[np.ndarray[tuple[int], np.dtype[np.int64]], np.ndarray[tuple[int], np.dtype[np.int64]]]


def _forward(scaled: Floats, stay: Floats, leave: Floats, band: Band) -> Floats:
    """Return the log probability of all ways to each state; column 0 stands before the first state."""
    steps, states = scaled.shape
    arrive = np.append(-np.inf, leave)
    ahead = np.full((steps, states + 1), -np.inf)
    ahead[0, 1] = scaled[0, 0]
    for t in range(1, steps):
        a, b = band[0][t], band[1][t]
        kept, moved = ahead[t - 1, a + 1 : b + 1] + stay[a:b], ahead[t - 1, a:b] + arrive[a:b]
        ahead[t, a + 1 : b + 1] = np.logaddexp(kept, moved) + scaled[t, a:b]
    return ahead


def _backward(scaled: Floats, stay: Floats, leave: Floats, band: Band, ahead: Floats) -> Floats:
    """Return the probability that each phone is entered at each step."""
    steps, states = scaled.shape
    arrive = np.append(-np.inf, leave)
    entering = np.zeros((steps, states // STATES))
    entering[0, 0] = 1.0
    back = np.full(states + 1, -np.inf)  # the last column stands after the last state
    back[states - 1] = 0.0
    for t in range(steps - 1, 0, -1):
        a, b = band[0][t], band[1][t]
        here = np.full(states + 1, -np.inf)
        here[a:b] = scaled[t, a:b] + back[a:b]
        first = -(-a // STATES) * STATES
        starts = slice(first, b, STATES)
        entering[t, first // STATES : -(-b // STATES)] = np.exp(
            ahead[t - 1, starts] + arrive[starts] + here[starts] - ahead[-1, -1]
        )
        back = np.full(states + 1, -np.inf)
        a = max(a - 1, 0)
        back[a:b] = np.logaddexp(here[a:b] + stay[a:b], here[a + 1 : b + 1] + leave[a:b])
    return entering


def _medians(entering: Floats) -> Floats:
    """Return the step before which each phone begins with a probability of a half, in order."""
    summed = np.cumsum(entering, axis=0)
    summed /= summed[-1]
    steps = np.arange(len(entering))
    middle = np.array([np.interp(0.5, summed[:, i], steps) for i in range(entering.shape[1])])
    middle[0] = 0.0
    return np.maximum.accumulate(middle)
