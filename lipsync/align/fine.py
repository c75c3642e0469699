"""Second look: where between two phonemes the boundary lies, asked of the acoustic model every 5 ms.

In: what is heard at each step, and the words that the recogniser chose, with the steps at which it found them (they
bound the search). Out: the start and the end of each phone in steps, as the median of the boundary's probability.

The probability of a boundary is summed over all ways to lay the phones (`semi_markov.py`) instead of taken from the
best way, with what is known of how long phonemes last (`durations.py`); scores are flattened by `SHARPNESS`; each
phone is heard half alone and half between its neighbours; a boundary is likelier where the spectrum changes. All
of these are measured to be nearer to hand-placed boundaries (tests/MEASURED.md).
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

SHARPNESS = 0.2  # chosen on speakers left out: 0.1 to 0.4 differ little
# How much durations and changes count beside the flattened scores; chosen: 1 to 2 differ little.
DURATIONS, CHANGES = 1.5, 1.5
NEIGHBOURS = 0.4  # how much of a score is the phone's between its neighbours; the rest is its own, heard alone
LEAST_CHANGE_DB = 0.8  # chosen: a boundary in an even sound is unlikely, and no more
RARE_PAUSE = -5.0  # log likelihood of a pause that the recogniser did not find; chosen: -3 to -6 differ in nothing
LEAST_PAUSE_US = 80_000  # chosen: what is shorter is none
CLOSURE_US = 80_000  # chosen: and before a stop, whose closure is as silent, so much more
PAUSE = -1  # the place in its word of such a pause
LEAST = 0.5  # steps that a phone lasts at least
REACH = 45  # steps around its word in which a phone may lie: 0.2 s; more gains nothing


@dataclass(frozen=True, slots=True)
class Rough:
    """A word, and in which steps it begins and ends, about; what is between two words is a silence."""

    symbols: tuple[str, ...]
    start_step: float
    end_step: float


@dataclass(frozen=True, slots=True)
class PhoneInWord:
    """One phone, where it stands in its word (`acoustic_model`), and between which steps that word lies, about."""

    symbol: str
    place: int
    low: float
    high: float


@dataclass(frozen=True, slots=True, eq=False)
class StepFeatures:
    """What is heard of a sound at each step.

    Attributes:
        features: for the acoustic model, one row a step.
        unlikely: how much a silence loses.
        change_db: how much the spectrum changes.
        factor: by how much the sound was slowed.
    """

    features: Floats
    unlikely: Floats
    change_db: Floats
    factor: float


def look(model: AcousticModel, sound: StepFeatures, words: Sequence[Rough]) -> list[Floats]:
    """Return the start and the end of each phone in steps, for each word an array of (phones, 2).

    Between two words there may be a pause; elsewhere a phone ends where the next begins.

    Args:
        model: the acoustic model.
        sound: what is heard of it, silence before and behind the words included.
        words: in order.

    Raises:
        NoPathError: if there is no way through.
    """
    steps = len(sound.features)
    lasting = log_durations([(word.symbols, word.end_step - word.start_step) for word in words], steps, sound.factor)
    tried = list(_phones(words, steps))
    spans = _spans(tried, steps)
    scores = _state_scores(model, sound, tried, spans)
    stretches = [
        SegmentRange(span[0], one, None if phone.symbol == SILENCE else DURATIONS * lasting[phone.symbol])
        if phone.place != PAUSE
        else SegmentRange(span[0], one, None, *_pause(phone, after, sound.factor))
        for phone, after, span, one in zip(tried, [*tried[1:], tried[-1]], spans, scores, strict=True)
    ]
    found = beginnings(stretches, CHANGES * np.log(sound.change_db + LEAST_CHANGE_DB))
    edges = [
        (phone, span[0] + _median(shares))
        for phone, span, shares in zip(tried, spans, found, strict=True)
        if shares is not None
    ]
    places = _apart([0.0, *(place for _, place in edges[1:])], steps)
    spoken = [phone.symbol != SILENCE for phone, _ in edges]
    placed = np.stack([places[:-1], places[1:]], axis=1)[spoken]
    return np.split(placed, np.cumsum([len(word.symbols) for word in words])[:-1])


def _apart(starts: Sequence[float], steps: int) -> Floats:
    """Return the edges of phones that begin there and end with the sound, each phone `LEAST` long or longer.

    Each way through the sound gives each phone a step, so the medians lie as far apart, but for what is rounded off.

    >>> _apart([0.0, 3.0, 3.0, 10.0], 10).tolist()
    [0.0, 3.0, 3.5, 9.5, 10.0]
    """
    line = np.arange(len(starts) + 1) * LEAST
    pushed = np.maximum.accumulate(np.append(starts, float(steps)) - line)
    pushed = np.minimum.accumulate(np.append(pushed[:-1], steps - line[-1])[::-1])[::-1]
    edges: Floats = pushed + line
    return edges


def _phones(words: Sequence[Rough], steps: int) -> Iterator[PhoneInWord]:
    """Yield the phones of words, between two of them a pause that may be there, and a silence at both ends."""
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
    """Return the log likelihood that a pause is there at all, and how many steps it then lasts at least."""
    least_us = LEAST_PAUSE_US + (CLOSURE_US if after.symbol in STOPS else 0)
    return (0.0 if pause.high > pause.low else RARE_PAUSE), round(least_us / STEP_US * factor)


def _state_scores(
    model: AcousticModel, sound: StepFeatures, phones: Sequence[PhoneInWord], spans: Sequence[tuple[int, int]]
) -> list[Floats]:
    """Return for each phone the flattened log likelihoods of (steps of its span, states)."""
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
    """Return the phone that one sounds into, a pause that may be there not counted; at the ends it is silence."""
    at += step
    if 0 <= at < len(phones) and phones[at].place == PAUSE:
        at += step
    return phones[at].symbol if 0 <= at < len(phones) else SILENCE


def _spans(phones: Sequence[PhoneInWord], steps: int) -> list[tuple[int, int]]:
    """Return the steps that each phone may cover: its word's and some around; the first and last reach the ends."""
    first = np.clip(np.floor(np.array([phone.low for phone in phones]) - REACH), 0, steps - 1).astype(int)
    last = np.clip(np.ceil(np.array([phone.high for phone in phones]) + REACH), 1, steps).astype(int)
    first[0], last[-1] = 0, steps
    if len(phones) > 1 and phones[1].symbol in STOPS:
        last[0] = last[1]  # the recogniser takes a breath or a click before a line for its first stop
    return list(zip(first.tolist(), last.tolist(), strict=True))


def _median(shares: Floats) -> float:
    """Return the place before which half of the shares lie."""
    return float(np.interp(0.5, np.cumsum(shares), np.arange(len(shares))))
