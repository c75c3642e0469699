"""Adapts the acoustic model to a voice: one linear transform of its means for each feature stream.

In: the model, and aligned lines of one voice. Out: the `Transform` under which these lines are likeliest. Where there
is little speech to learn it from, it is drawn towards a prior: no change, or the voice's own transform.

Source: maximum likelihood linear regression, one class for all phonemes (Leggetter and Woodland 1995, Computer Speech
and Language 9(2):171-185); here with a prior that weighs as much as a given number of ticks, in each row of the
matrix. Silence is left as it is: a room is no voice. A wrong text can hardly be made to fit in this way, for only 546
numbers move all 5,000 means.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from functools import reduce
from operator import add

import numpy as np

from lipsync.align.acoustic_model import STREAMS, WIDTH, AcousticModel, Floats, acoustic_model, terms_of
from lipsync.align.coarse import Words
from lipsync.align.evidence import stretches_of
from lipsync.align.scored_sound import ScoredStretches
from lipsync.align.search import Alignment
from lipsync.audio.features import PER_TICK, STEP_US

# The weight of the prior, in ticks; chosen on synthesised speech.
VOICE_CAUTION = 50.0  # for a voice, whose prior is no change
LONE_CAUTION = 100.0  # for a line whose voice is not known: its prior is no change
LINE_CAUTION = 300.0  # for a line whose voice is known: its prior is the voice's transform

# (stream, width, 1 + width): the first column is added to each mean, after the rest has multiplied it.
Transform = Floats
TimedPhone = tuple[str, float, float]  # a phoneme, and its start and end in ticks

NONE: Transform = np.repeat(np.hstack([np.zeros((WIDTH, 1)), np.eye(WIDTH)])[None], STREAMS, axis=0)


@dataclass(frozen=True, slots=True, eq=False)
class Accumulated:
    """The sums that a transform is computed from; those of several lines are added.

    Attributes:
        square: (stream, width, 1 + width, 1 + width), the weighted outer products of the means.
        cross: (stream, width, 1 + width), the weighted means multiplied by the features heard.
        ticks: how many ticks of speech went into the sums.
    """

    square: Floats
    cross: Floats
    ticks: int

    def __add__(self, other: Accumulated) -> Accumulated:
        return Accumulated(self.square + other.square, self.cross + other.cross, self.ticks + other.ticks)


def transform_of(heard: Accumulated, prior: Transform, caution: float) -> Transform:
    """Return the likeliest transform; `prior` weighs as much as `caution` ticks of speech."""
    weight = caution / max(1, heard.ticks)
    diagonal = np.eye(1 + WIDTH) * heard.square * weight + 1e-9 * np.eye(1 + WIDTH)
    towards = heard.cross + (diagonal @ prior[..., None])[..., 0]
    found: Transform = np.linalg.solve(heard.square + diagonal, towards[..., None])[..., 0].astype(np.float64)
    return found


def adapted(sound: ScoredStretches, words: Words, search: Alignment, voice: Transform | None) -> AcousticModel:
    """Return the model adapted to an aligned line, with the voice's transform as prior if it is known."""
    heard = accumulated(sound, words, search)
    prior, caution = (NONE, LONE_CAUTION) if voice is None else (voice, LINE_CAUTION)
    return acoustic_model().moved(transform_of(heard, prior, caution))


def accumulated(sound: ScoredStretches, words: Words, search: Alignment) -> Accumulated:
    """Return the sums of an aligned line."""
    model = acoustic_model()
    return reduce(add, (_of_phones(model, *heard) for heard in _heard(sound, words, search)))


def _heard(sound: ScoredStretches, words: Words, search: Alignment) -> Iterator[tuple[Floats, list[TimedPhone]]]:
    """Yield for each stretch of a line its features, a row for each tick, and its phonemes."""
    spans = [(word.times_us[0], word.times_us[-1]) for word in search.words]
    tick_us = PER_TICK * STEP_US / search.factor
    for stretch in stretches_of(spans, sound.duration_us):
        features = sound.of(stretch.start_us, stretch.end_us, search.factor, acoustic_model()).sound.features
        own = slice(stretch.first, stretch.end)
        phones = [
            (symbol, (start_us - stretch.start_us) / tick_us, (end_us - stretch.start_us) / tick_us)
            for word, ways in zip(search.words[own], words[own], strict=True)
            for symbol, start_us, end_us in zip(
                ways[word.pronunciation], word.times_us, word.times_us[1:], strict=False
            )
        ]
        yield features, phones


def _of_phones(model: AcousticModel, features: Floats, phones: Sequence[TimedPhone]) -> Accumulated:
    """Return the sums over the ticks of some phonemes; `features` has a row for each tick."""
    square = np.zeros((STREAMS, WIDTH, 1 + WIDTH, 1 + WIDTH))
    cross = np.zeros((STREAMS, WIDTH, 1 + WIDTH))
    ticks = 0
    for symbol in sorted({symbol for symbol, _, _ in phones}):
        spans = [(round(start), max(round(start) + 1, round(end))) for own, start, end in phones if own == symbol]
        rows = np.concatenate([np.arange(*span) for span in spans])
        rows = rows[rows < len(features)]
        ticks += len(rows)
        shares = model.occupancy(terms_of(features[rows]), symbol, model.states(symbol))  # (stream, row, gaussian)
        mean, inverse = model.gaussians(symbol)
        extended = np.concatenate([np.ones((*mean.shape[:2], 1)), mean], axis=2)  # (stream, gaussian, 1 + width)
        summed = shares.swapaxes(1, 2) @ features[rows].reshape(-1, STREAMS, WIDTH).swapaxes(0, 1)
        weight = (shares.sum(axis=1)[..., None] * inverse).swapaxes(1, 2)  # (stream, width, gaussian)
        square += (extended.swapaxes(1, 2)[:, None] * weight[:, :, None]) @ extended[:, None]
        cross += (inverse * summed).swapaxes(1, 2) @ extended
    return Accumulated(square, cross, ticks)
