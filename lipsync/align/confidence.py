"""The confidence of each word: whether it was said, and whether its phonemes begin where they were put.

In: the `Evidence` of all words of a line. Out: for each word a `Confidence`: probabilities from 0 to 1, whose product
is the confidence that people see.

    said    that this word is what is said there
    exact   that, if it is said, each of its phonemes begins within a frame (at 24 fps) of where a person would put it

Each is a logistic curve over a few figures of the evidence. The weights are in `data/doubt.toml`, with what they were
learned from; `python tests/measure_doubt.py FOLDER ... --learn` learns them again.
"""

from __future__ import annotations

import math
import statistics
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import cache
from importlib import resources
from typing import Any

import tomli

from lipsync.align.competing_paths import Symbols
from lipsync.align.evidence import Evidence

CAPPED_GAIN, CAPPED_RATE = 100.0, 5.0  # chosen: a gain above these says no more than these
LEAST_STRAY = 0.001  # keeps the logarithm finite
TWICE_STEP = 10.0  # chosen: a gain that is larger by this (natural logarithm) makes the odds 2.7 times as high

Figures = dict[str, float]


@dataclass(frozen=True, slots=True)
class Confidence:
    """The confidence of one word, as probabilities from 0 to 1.

    Attributes:
        said: that the word is what is said.
        exact: that each of its phonemes begins within a frame of where it was put.
        alone: that no other word, which the text does not have, is said within its time (`small_words.py`).
    """

    said: float
    exact: float
    alone: float = 1.0

    @property
    def confidence(self) -> float:
        """The confidence that people see: the product of all, to two decimals."""
        return round(self.said * self.exact * self.alone, 2)


def confidences(words: Sequence[Symbols], line: Sequence[Evidence]) -> list[Confidence]:
    """Return the confidence of each word of a line, from its phonemes and its evidence."""
    table = _table()
    return [
        judge(table, values, evidence)
        for values, evidence in zip(figures(words, line, table["lasts"]), line, strict=True)
    ]


def judge(
    table: Mapping[str, Mapping[str, float]], values: tuple[Figures, Figures], evidence: Evidence
) -> Confidence:
    """Return the confidence of one word from its two sets of figures (`figures`) and the table's weights."""
    said, exact = values
    return Confidence(_curve(table["said"], said) * _once(evidence), _curve(table["exact"], exact))


def figures(
    words: Sequence[Symbols], line: Sequence[Evidence], lasts: Mapping[str, float]
) -> list[tuple[Figures, Figures]]:
    """Return for each word the figures that the curve of `said` takes, and those that the curve of `exact` takes.

    Args:
        words: the phonemes of each word.
        line: the evidence for each word.
        lasts: for each phoneme the usual natural logarithm of its duration in ticks.
    """
    stretches = [
        [math.log(max(1.0, ticks)) - lasts[symbol] for symbol, ticks in zip(symbols, evidence.lasts, strict=True)]
        for symbols, evidence in zip(words, line, strict=True)
    ]
    pace = statistics.median(one for word in stretches for one in word)
    return [
        (_of_said(evidence, stretch, pace), _of_exact(evidence, stretch, pace))
        for evidence, stretch in zip(line, stretches, strict=True)
    ]


def _of_said(evidence: Evidence, stretch: Sequence[float], pace: float) -> Figures:
    ticks = max(1.0, evidence.ticks)
    alone = statistics.fmean(evidence.fits_alone)
    return {
        "fits": statistics.fmean(evidence.fits),
        "worst fit": min(evidence.fits),
        "fits alone": alone,
        "fits alone, long": alone * math.log(ticks),
        "fits alone, of contrast": alone / statistics.fmean(evidence.contrast),
        "long": math.log(ticks),
        "phonemes": math.log(len(stretch)),
        "otherwise": _capped(evidence.otherwise, CAPPED_GAIN),
        "otherwise, a tick": _capped(evidence.otherwise / ticks, CAPPED_RATE),
        "stretched": statistics.fmean(stretch) - pace,
        "shortest": min(stretch) - pace,
    }


def _of_exact(evidence: Evidence, stretch: Sequence[float], pace: float) -> Figures:
    return {
        "strays most": math.log(max(LEAST_STRAY, *evidence.strays)),
        "phonemes": float(len(stretch)),
        "pace": pace,
        "longest": max(stretch) - pace,
        "shortest": min(stretch) - pace,
    }


def _capped(value: float, most: float) -> float:
    """Return a value bent smoothly so that it stays between `-most` and `most`."""
    return most * math.tanh(value / most)


def _once(evidence: Evidence) -> float:
    """Return the probability that a word is said only once."""
    return 1 / (1 + math.exp(min(50.0, (evidence.twice - 2 * TWICE_STEP) / TWICE_STEP)))


def _curve(weights: Mapping[str, float], values: Figures) -> float:
    odds = weights["even"] + sum(weights[name] * value for name, value in values.items())
    return 1 / (1 + math.exp(-max(-50.0, min(50.0, odds))))


@cache
def _table() -> dict[str, Any]:
    path = resources.files("lipsync.align") / "data" / "doubt.toml"
    return tomli.loads(path.read_text(encoding="utf-8"))
