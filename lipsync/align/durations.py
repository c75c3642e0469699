"""How long phonemes usually last: what the second look expects before it hears anything.

In: words, roughly how long each lasts, and the voice factor. Out: for each of their phonemes the logarithm of its
probability to last one step, two steps and so on.

A duration is lognormal about its phoneme's mean, at the rate of the line. That rate says by how much the line is
quicker or slower than the table: the mean over its phonemes, each with the rate of its word, without the quickest and
the slowest quarter. Beyond `HELD` spreads the logarithm falls in a straight line and no longer as a square, so that a
vowel or a hum held for two seconds is unlikely but possible. A stop cannot be held, so for stops it falls more
steeply; else the breath before a line would become part of its first D.

Source of the table: `tests/learn_durations.py`, which asks three synthetic voices (flite's slt, rms and awb, made
from people reading aloud); nothing in it comes from the recordings that timing is measured on.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from lipsync.audio.features import STEP_US, Floats

# Mean in milliseconds and spread of the logarithm.
_ROWS = """
AA    95 0.51
AE   104 0.42
AH    48 0.45
AO    92 0.56
AW   172 0.32
AY   162 0.33
B     65 0.30
CH   133 0.23
D     47 0.42
DH    47 0.46
EH    89 0.51
ER   106 0.41
EY   142 0.33
F    109 0.31
G     69 0.31
HH    62 0.34
IH    57 0.45
IY   108 0.37
JH   109 0.29
K     92 0.31
L    102 0.39
M     68 0.34
N     64 0.32
NG    91 0.36
OW   126 0.33
OY   224 0.24
P     94 0.29
R     72 0.47
S    115 0.29
SH   136 0.21
T     64 0.39
TH   104 0.27
UH    64 0.44
UW    83 0.57
V     57 0.29
W     81 0.37
Y    100 0.39
Z     90 0.36
ZH   102 0.16
"""

LEAST_SPREAD = 0.25  # chosen: a table learned from three voices cannot be more certain than this about other voices
HELD = 2.0  # chosen: beyond so many spreads the fall is straight
MOST_STOPPED, STOPPED = 2.0, 20.0  # chosen: beyond so many spreads a stop falls more steeply, by this factor
CAUTION = 5  # chosen: in a line of so many phonemes, half of the measured rate is applied; in a longer one more

STOPS = frozenset(["P", "B", "T", "D", "K", "G", "CH", "JH"])

_TABLE: dict[str, tuple[float, float]] = {
    symbol: (float(np.log(float(mean_ms))), max(float(spread), LEAST_SPREAD))
    for symbol, mean_ms, spread in (row.split() for row in _ROWS.split("\n") if row)
}


def usual_us(symbol: str) -> int:
    """Return how long a phoneme usually lasts, in microseconds."""
    return round(1000 * float(np.exp(_TABLE[symbol][0])))


def log_durations(words: Sequence[tuple[Sequence[str], float]], steps: int, factor: float) -> dict[str, Floats]:
    """Return for each phoneme of some words the log probability of lasting 1, 2 ... `steps` steps.

    Args:
        words: the phonemes of each word, and how many steps the word lasts.
        steps: the length of the sound.
        factor: by how much the sound was slowed.
    """
    step_ms = STEP_US / 1000 / factor
    lasting = np.log(np.arange(1, steps + 1) * step_ms)
    slower = _slower([log for symbols, lasts in words for log in _logs(symbols, lasts * step_ms)])
    logs: dict[str, Floats] = {}
    for symbol in dict.fromkeys(symbol for symbols, _ in words for symbol in symbols):
        mean, spread = _TABLE[symbol]
        away = (lasting - mean - slower) / spread
        if symbol in STOPS:
            logs[symbol] = -(away**2) / 2 - STOPPED * np.maximum(0.0, away - MOST_STOPPED) ** 2
        else:
            logs[symbol] = -np.where(away > HELD, HELD * away - HELD**2 / 2, away**2 / 2)
    return logs


def _logs(symbols: Sequence[str], lasts_ms: float) -> list[float]:
    """Return for each phoneme of a word by how much, as a logarithm, the word is slower than the table."""
    usual_ms = float(np.exp([_TABLE[symbol][0] for symbol in symbols]).sum())
    return [float(np.log(max(lasts_ms, 1.0) / usual_ms))] * len(symbols)


def _slower(logs: Sequence[float]) -> float:
    """Return by how much, as a logarithm, a line is slower than the table; drawn towards 0 for a short line.

    >>> round(_slower([0.1] * 5), 3), round(_slower([0.1] * 95), 3), _slower([])
    (0.05, 0.095, 0.0)
    """
    if not logs:
        return 0.0
    cut = len(logs) // 4
    middle = sorted(logs)[cut : len(logs) - cut]
    return float(np.mean(middle)) * len(logs) / (len(logs) + CAUTION)
