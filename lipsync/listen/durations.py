"""How long phonemes last: what the second look expects before it has heard anything.

In: phones with the steps at which the recogniser placed them, and the voice factor. Out: for each the logarithm of
its probability to last one step, two steps and so on; a silence may last as it likes.

A duration is lognormal about its phoneme's mean, at the rate of the line: the middle half of the line's phonemes says
by how much it is quicker or slower than the table. Beyond `HELD` spreads the fall goes on straight, not ever steeper,
so that a vowel or a hum held for two seconds is unlikely and no more; a stop cannot be held.

Source of the table: `tests/learn_durations.py`, which asks three synthetic voices (flite's slt, rms and awb, made
from people reading aloud); nothing in it comes from the recordings that timing is measured on.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from lipsync.listen.features import STEP_US, Floats
from lipsync.phonemes import SILENCE

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

LEAST_SPREAD = 0.25  # chosen: a table learned from three voices is not that sure of anybody
HELD = 2.0  # spreads; chosen
CAUTION = 5  # phonemes; chosen: the rate of a line of so few counts by half

STOPS = frozenset(["P", "B", "T", "D", "K", "G", "CH", "JH"])

_TABLE: dict[str, tuple[float, float]] = {
    symbol: (float(np.log(float(mean_ms))), max(float(spread), LEAST_SPREAD))
    for symbol, mean_ms, spread in (row.split() for row in _ROWS.split("\n") if row)
}


def log_durations(symbols: Sequence[str], starts: Floats, steps: int, factor: float) -> list[Floats | None]:
    """Return for each phone the log probability of lasting 1, 2 ... `steps` steps; None for a silence.

    Args:
        symbols: of the phones.
        starts: where the recogniser placed them, in steps; the last reaches to `steps`.
        steps: of the sound.
        factor: by how much it was slowed.
    """
    step_ms = STEP_US / 1000 / factor
    lasting = np.log(np.arange(1, steps + 1) * step_ms)
    placed = np.log(np.maximum(np.diff(np.append(starts, steps)), 1) * step_ms)
    slower = _slower(
        [log - _TABLE[symbol][0] for symbol, log in zip(symbols, placed, strict=True) if symbol != SILENCE]
    )
    found: dict[str, Floats] = {}
    for symbol in dict.fromkeys(symbols):
        if symbol != SILENCE:
            mean, spread = _TABLE[symbol]
            away = (lasting - mean - slower) / spread
            held = (away > HELD) & (symbol not in STOPS)
            found[symbol] = -np.where(held, HELD * away - HELD**2 / 2, away**2 / 2)
    return [found.get(symbol) for symbol in symbols]


def _slower(logs: Sequence[float]) -> float:
    """Return by how much, as a logarithm, a line is slower than the table.

    >>> round(_slower([0.1] * 5), 3), round(_slower([0.1] * 95), 3), _slower([])
    (0.05, 0.095, 0.0)
    """
    if not logs:
        return 0.0
    cut = len(logs) // 4
    middle = sorted(logs)[cut : len(logs) - cut]
    return float(np.mean(middle)) * len(logs) / (len(logs) + CAUTION)
