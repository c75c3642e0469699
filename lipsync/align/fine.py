"""The second look: where the boundary between two phonemes lies, by the acoustic model, in steps of 5 ms.

In: the features of each step, and the words that the recogniser chose, with the steps where it found them (they
bound the search). Out: the start and the end of each phone in steps, as the median of the boundary's probability.

The probability of a boundary is a sum over all ways to place the phones (`semi_markov.py`), and is not taken from the
best way alone. It takes into account how long phonemes usually last (`durations.py`). Scores are flattened by
`SHARPNESS`. The score of a phone is a mixture: partly of the phone alone, partly of it between its neighbours. A
boundary is likelier where the spectrum changes. Each of these brought boundaries nearer to hand-placed ones
(tests/MEASURED.md).
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np

from lipsync.align.acoustic_model import BEGIN, END, INSIDE, SINGLE, AcousticModel, Floats, terms_of
from lipsync.align.durations import STOPS, log_durations
from lipsync.align.semi_markov import SegmentRange, beginnings
from lipsync.audio.features import PER_TICK, STEP_US
from lipsync.phonemes import SILENCE

SHARPNESS = 0.2  # scores are multiplied by it; chosen on speakers left out: 0.1 to 0.4 differ little
# Weights of durations and of spectral changes beside the flattened scores; chosen: 1 to 2 differ little.
DURATIONS, CHANGES = 1.5, 1.5
NEIGHBOURS = 0.4  # the share of a score that is of the phone between its neighbours; the rest is of the phone alone
LEAST_CHANGE_DB = 0.8  # chosen: keeps a boundary in an even sound possible, though unlikely
RARE_PAUSE = -5.0  # log likelihood of a pause that the recogniser did not find; chosen: -3 to -6 differ in nothing
LEAST_PAUSE_US = 80_000  # chosen: a shorter silence is no pause
CLOSURE_US = 80_000  # chosen: a pause before a stop must be longer by this, for the stop's closure is as silent
PAUSE = -1  # stands for the place in a word, where a phone is a pause between words
LEAST = 0.5  # the least length of a phone, in steps
REACH = 45  # a phone may lie this many steps outside its word (about 0.2 s); a longer reach gains nothing


@dataclass(frozen=True, slots=True)
class Rough:
    """A word, and roughly the steps in which it begins and ends; what is between two words is a silence."""

    symbols: tuple[str, ...]
    start_step: float
    end_step: float


@dataclass(frozen=True, slots=True)
class PhoneInWord:
    """One phone, its place in its word (`INSIDE` and so on), and roughly the steps between which that word lies."""

    symbol: str
    place: int
    low: float
    high: float


@dataclass(frozen=True, slots=True, eq=False)
class StepFeatures:
    """What is known of a sound at each step of 5 ms.

    Attributes:
        features: for the acoustic model, one row for each step.
        unlikely: how much log likelihood a silence loses at each step (`acoustic_fit.py`).
        change_db: how much the spectrum changes at each step.
        factor: by how much the sound was slowed.
    """

    features: Floats
    unlikely: Floats
    change_db: Floats
    factor: float


def look(model: AcousticModel, sound: StepFeatures, words: Sequence[Rough]) -> list[Floats]:
    """Return the start and the end of each phone in steps: for each word an array of shape (phones, 2).

    Between two words there may be a pause; elsewhere a phone ends where the next begins.

    Args:
        model: the acoustic model.
        sound: its steps, the silence before and behind the words included.
        words: in order.

    Raises:
        NoPathError: if there is no way through.
    """
    steps = len(sound.features)
    lasting = log_durations([(word.symbols, word.end_step - word.start_step) for word in words], steps, sound.factor)
    phones = list(_phones(words, steps))
    spans = _spans(phones, steps)
    scores = _state_scores(model, sound, phones, spans)
    ranges = [
        SegmentRange(span[0], score, None if phone.symbol == SILENCE else DURATIONS * lasting[phone.symbol])
        if phone.place != PAUSE
        else SegmentRange(span[0], score, None, *_pause(phone, after, sound.factor))
        for phone, after, span, score in zip(phones, [*phones[1:], phones[-1]], spans, scores, strict=True)
    ]
    begins = beginnings(ranges, CHANGES * np.log(sound.change_db + LEAST_CHANGE_DB))
    edges = [
        (phone, span[0] + _median(shares))
        for phone, span, shares in zip(phones, spans, begins, strict=True)
        if shares is not None
    ]
    places = _apart([0.0, *(place for _, place in edges[1:])], steps)
    spoken = [phone.symbol != SILENCE for phone, _ in edges]
    placed = np.stack([places[:-1], places[1:]], axis=1)[spoken]
    return np.split(placed, np.cumsum([len(word.symbols) for word in words])[:-1])


def _apart(starts: Sequence[float], steps: int) -> Floats:
    """Return the edges of phones from their starts, moved so that each phone is `LEAST` steps long or longer.

    The last phone ends with the sound. Hardly anything has to move: each phone lasts a step or more on every way
    through the sound, so the medians of neighbours are a step apart too, except for rounding.

    >>> _apart([0.0, 3.0, 3.0, 10.0], 10).tolist()
    [0.0, 3.0, 3.5, 9.5, 10.0]
    """
    line = np.arange(len(starts) + 1) * LEAST
    pushed = np.maximum.accumulate(np.append(starts, float(steps)) - line)
    pushed = np.minimum.accumulate(np.append(pushed[:-1], steps - line[-1])[::-1])[::-1]
    edges: Floats = pushed + line
    return edges


def _phones(words: Sequence[Rough], steps: int) -> Iterator[PhoneInWord]:
    """Yield the phones of words, with a possible pause between two words, and a silence at both ends."""
    reached = 0.0
    for number, word in enumerate(words):
        yield PhoneInWord(SILENCE, PAUSE if number else SINGLE, reached, word.start_step)
        last = len(word.symbols) - 1
        for k, symbol in enumerate(word.symbols):
            place = SINGLE if last == 0 else BEGIN if k == 0 else END if k == last else INSIDE
            yield PhoneInWord(symbol, place, word.start_step, word.end_step)
        reached = word.end_step
    yield PhoneInWord(SILENCE, SINGLE, reached, steps)


def _pause(pause: PhoneInWord, after: PhoneInWord, factor: float) -> tuple[float, int]:
    """Return the log likelihood that a pause is there, and the least number of steps that it lasts if it is."""
    least_us = LEAST_PAUSE_US + (CLOSURE_US if after.symbol in STOPS else 0)
    return (0.0 if pause.high > pause.low else RARE_PAUSE), round(least_us / STEP_US * factor)


def _state_scores(
    model: AcousticModel, sound: StepFeatures, phones: Sequence[PhoneInWord], spans: Sequence[tuple[int, int]]
) -> list[Floats]:
    """Return for each phone its flattened log likelihoods, of shape (steps of its span, states)."""
    out: list[Floats] = [np.empty(0)] * len(phones)
    terms = terms_of(sound.features)
    for symbol in dict.fromkeys(phone.symbol for phone in phones):
        places = [i for i, phone in enumerate(phones) if phone.symbol == symbol]
        reached = np.zeros(len(sound.features), bool)
        for i in places:
            reached[slice(*spans[i])] = True
        rows = np.flatnonzero(reached)
        densities = model.densities(terms[:, rows], symbol)
        alone = model.scores(densities, model.states(symbol))
        for i in places:
            first, last = np.searchsorted(rows, spans[i])
            before, after = _beside(phones, i, -1), _beside(phones, i, 1)
            near = [(relative[first:last], best[first:last]) for relative, best in densities]
            between = model.scores(near, model.states_between(symbol, before, after, phones[i].place))
            score = (1 - NEIGHBOURS) * alone[first:last] + NEIGHBOURS * between
            if symbol == SILENCE:
                score -= sound.unlikely[slice(*spans[i]), None]
            out[i] = score * (SHARPNESS / PER_TICK)
    return out


def _beside(phones: Sequence[PhoneInWord], at: int, step: int) -> str:
    """Return the phone before (`step` -1) or after (1) another; possible pauses are skipped, the ends are silence."""
    at += step
    if 0 <= at < len(phones) and phones[at].place == PAUSE:
        at += step
    return phones[at].symbol if 0 <= at < len(phones) else SILENCE


def _spans(phones: Sequence[PhoneInWord], steps: int) -> list[tuple[int, int]]:
    """Return the steps that each phone may cover: its word's and `REACH` more; the outer silences reach the ends."""
    first = np.clip(np.floor(np.array([phone.low for phone in phones]) - REACH), 0, steps - 1).astype(int)
    last = np.clip(np.ceil(np.array([phone.high for phone in phones]) + REACH), 1, steps).astype(int)
    first[0], last[-1] = 0, steps
    if phones[1].symbol in STOPS:
        # The recogniser may have taken a breath or a click before the line for its first stop.
        last[0] = last[1]
    return list(zip(first.tolist(), last.tolist(), strict=True))


def _median(shares: Floats) -> float:
    """Return the place before which half of the shares lie."""
    return float(np.interp(0.5, np.cumsum(shares), np.arange(len(shares))))
