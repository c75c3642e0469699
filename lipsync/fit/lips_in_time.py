"""What lips do at each moment of speech, by the model of lips in time.

In: a character's sounds in order (`Gesture`: what is said, from when to when, how large the mouth is) and
moments. Out: `LipsInTime`: how far the lips are open and how wide they are at each moment, how unsure that is,
and each sound's share of it.

The model: every sound pulls the lips toward its own target while it lasts, and less the further a moment is before
its start (anticipation) or after its end (carry-over). What the lips do is the mean of the targets, weighted by these
pulls. Blending by dominance that falls off on both sides is Löfqvist (1990) and Cohen and Massaro (1993), from
memory; that vowels act through consonants which leave the lips free is Öhman (1966). Opening and width have pulls and
times of their own. Three limits:

    reach      no sound acts on a moment more than `REACH_US` away. Rounding begins 200 to 300 ms before its vowel at
               most, however many consonants are between (Bell-Berti and Harris 1981, from memory)
    closures   a sound on the other side of P, B, M, F or V does not act on the opening; on the width it does
    a rest     pulls weakly: the lips open before the first sound, and close at once after the last

Pulls, times and targets are in `data/lips.toml`, with their source. Opening is in parts of a speaker's wide opening
(1 is the 95th percentile in speech), width in standard deviations from that speaker's mean.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import cache
from importlib.resources import as_file, files
from pathlib import Path
from typing import Literal

import numpy as np
import numpy.typing as npt
from pydantic import Field

from lipsync.phonemes import DIPHTHONGS, LIP_TO_TEETH, LIPS_CLOSED, PHONEMES, SILENCE
from lipsync.tomlfile import Table, read_table

REACH_US = 320_000

# What a shout adds to the opening and a whisper takes from it. It is added to what was learned from read speech,
# which has neither. Loud speech opens jaw and lips by a half and more (Schulman 1989, JASA 85, 295, from memory);
# chosen.
LOUD = 0.3

# Sounds through which no other sound acts on the opening.
_BARS = LIPS_CLOSED | LIP_TO_TEETH

_NEVER_US = 1 << 62  # later than any time

Floats = npt.NDArray[np.float64]
Indices = npt.NDArray[np.intp]

Side = Literal["opening", "width"]


@dataclass(frozen=True, slots=True)
class Gesture:
    """What the lips are to do for one sound, or one half of a diphthong, or a rest.

    Attributes:
        key: its key in the table of targets (`keys_of`).
        start_us: when its sound begins.
        end_us: when its sound ends.
        size: how large the mouth is, 0 to 1; 0.5 if the sound is neither loud nor soft.
        target: opening and width that replace the table's; None to take the table's.
    """

    key: str
    start_us: int
    end_us: int
    size: float = 0.5
    target: tuple[float, float] | None = None


def keys_of(symbol: str, stress: int | None) -> tuple[str, ...]:
    """Return the keys of a phoneme in the table of targets: two for a diphthong; an unstressed AH has its own.

    >>> keys_of("AY", 1), keys_of("AH", 0), keys_of("P", None), keys_of("SIL", None)
    (('AY>', '>AY'), ('AH0',), ('P',), ('SIL',))
    """
    if symbol in DIPHTHONGS:
        return f"{symbol}>", f">{symbol}"
    return ("AH0",) if (symbol, stress) == ("AH", 0) else (symbol,)


def phoneme_of(key: str) -> str:
    """Return the phoneme of a key, without stress.

    >>> phoneme_of(">AY"), phoneme_of("AH0")
    ('AY', 'AH')
    """
    return key.strip(">").removesuffix("0")


ALL_KEYS = (
    *(key for symbol in PHONEMES for key in keys_of(symbol, None)),
    "AH0",
    SILENCE,
)


class Pull(Table):
    """How strongly a class of sounds pulls the lips, and from when to when.

    Attributes:
        strength: logarithm of its pull while it lasts, against that of the other classes.
        before_ms: time in which the pull falls to 1/e before the sound.
        after_ms: time in which the pull falls to 1/e after the sound.
        early_ms: by how much the full pull begins before the sound.
        late_ms: by how much the full pull ends after the sound.
    """

    strength: float
    before_ms: float = Field(gt=0)
    after_ms: float = Field(gt=0)
    early_ms: float
    late_ms: float


class LipClass(Table):
    """Sounds that share their pulls.

    Attributes:
        name: what they have in common.
        keys: the keys of its sounds.
        opening: its pull on the opening.
        width: its pull on the width.
        unsure: standard deviation of real lips from the model, in opening and in width, during such a sound.
    """

    name: str
    keys: tuple[str, ...]
    opening: Pull
    width: Pull
    unsure: tuple[float, float]


class LipModel(Table):
    """The table of pulls and targets.

    Attributes:
        form: the form of the file.
        origin: where its numbers are from.
        by_size: by how much a mouth of size 1 opens more on a vowel than one of size 0.5.
        classes: the classes of sounds.
        targets: key -> opening and width.
    """

    form: Literal["lipsync lips in time 1"]
    origin: str
    by_size: float
    classes: tuple[LipClass, ...]
    targets: Mapping[str, tuple[float, float]]


@cache
def shipped_model() -> LipModel:
    """Return the model that ships with the program."""
    with as_file(files("lipsync.fit") / "data" / "lips.toml") as path:
        return read_table(Path(path), LipModel)


@dataclass(frozen=True, slots=True)
class Shares:
    """The share of each gesture in the lips at each moment, as parallel arrays; the shares of a moment sum to 1.

    Attributes:
        moment: index of the moment.
        gesture: index of the gesture.
        share: the share, above 0 up to 1.
    """

    moment: Indices
    gesture: Indices
    share: Floats

    def sum_of(self, values: Floats, moments: int) -> Floats:
        """Return for each moment the mean of the gestures' values, weighted by their shares."""
        return np.bincount(self.moment, self.share * values[self.gesture], moments).astype(np.float64)


@dataclass(frozen=True, slots=True)
class LipsInTime:
    """What the lips do, a number for each moment.

    Attributes:
        opening: how far they are open: 0 closed, 1 wide.
        width: in standard deviations from the speaker's mean: below 0 drawn in, above 0 spread.
        opening_unsure: standard deviation of the opening.
        width_unsure: standard deviation of the width.
        opening_shares: each gesture's share of the opening.
        width_shares: each gesture's share of the width.
    """

    opening: Floats
    width: Floats
    opening_unsure: Floats
    width_unsure: Floats
    opening_shares: Shares
    width_shares: Shares


def lips_in_time(gestures: Sequence[Gesture], moments_us: Sequence[int], model: LipModel) -> LipsInTime:
    """Return what the lips do at each of these moments, which are in order.

    At a moment that no sound acts on, the lips are as at rest.
    """
    index = {key: at for at, one in enumerate(model.classes) for key in one.keys}
    class_of = np.array([index[gesture.key] for gesture in gestures], dtype=np.intp)
    targets = np.array([gesture.target or model.targets[gesture.key] for gesture in gestures]).reshape(-1, 2)
    targets[:, 0] += [opened_by(gesture.size, model) for gesture in gestures]
    unsure = np.array([model.classes[at].unsure for at in class_of]).reshape(-1, 2)
    found: list[Floats] = []
    sides: list[Shares] = []
    both: tuple[Side, Side] = ("opening", "width")
    for at, side in enumerate(both):
        pulls = np.array([[p.strength, p.before_ms, p.after_ms, p.early_ms, p.late_ms] for p in _pulls(model, side)])
        shares = shares_of(gestures, moments_us, pulls[class_of].reshape(-1, 5), barred=side == "opening")
        idle = np.bincount(shares.moment, shares.share, len(moments_us)) == 0
        rest = model.targets[SILENCE][at]
        found.append(np.where(idle, rest, shares.sum_of(targets[:, at], len(moments_us))))
        found.append(np.sqrt(shares.sum_of(unsure[:, at] ** 2, len(moments_us))))
        sides.append(shares)
    opening, opening_unsure, width, width_unsure = found
    return LipsInTime(opening, width, opening_unsure, width_unsure, *sides)


def opened_by(size: float, model: LipModel) -> float:
    """Return what a mouth of a size from 0 to 1 adds to its opening: what was learned, and `LOUD` at either end.

    >>> model = shipped_model()
    >>> [round(opened_by(size, model) - model.by_size * (2 * size - 1), 2) for size in (0.0, 0.25, 0.5, 1.0)]
    [-0.3, -0.07, 0.0, 0.3]
    """
    from_middle = 2 * size - 1
    return model.by_size * from_middle + LOUD * from_middle * abs(from_middle)


def _pulls(model: LipModel, side: Side) -> list[Pull]:
    return [one.opening if side == "opening" else one.width for one in model.classes]


def shares_of(gestures: Sequence[Gesture], moments_us: Sequence[int], pulls: Floats, *, barred: bool) -> Shares:
    """Return the share of each gesture in the opening or in the width at each moment.

    Args:
        gestures: what is said, in order of start.
        moments_us: the moments, in order.
        pulls: gestures x 5, the fields of `Pull` in order.
        barred: whether a sound does not act on moments on the other side of a closure or lip to teeth.
    """
    moments = np.asarray(moments_us, dtype=np.int64)
    start = np.array([gesture.start_us for gesture in gestures], dtype=np.int64)
    end = np.array([gesture.end_us for gesture in gestures], dtype=np.int64)
    first = np.searchsorted(moments, start - REACH_US, "right")
    last = np.searchsorted(moments, end + REACH_US, "left")
    many = np.maximum(0, last - first)
    gesture = np.repeat(np.arange(len(gestures)), many)
    moment = np.arange(len(gesture)) - np.repeat(np.cumsum(many) - many, many) + np.repeat(first, many)
    if barred:
        free = ~_beyond_a_bar(gestures, moments[moment], start[gesture], end[gesture])
        gesture, moment = gesture[free], moment[free]
    at, pull = moments[moment], pulls[gesture]
    before_ms = np.maximum(0.0, (start[gesture] - at) / 1000 - pull[:, 3])
    after_ms = np.maximum(0.0, (at - end[gesture]) / 1000 - pull[:, 4])
    strength = np.exp(pull[:, 0] - before_ms / pull[:, 1] - after_ms / pull[:, 2])
    total = np.bincount(moment, strength, len(moments))
    return Shares(moment, gesture, strength / total[moment])


def _beyond_a_bar(
    gestures: Sequence[Gesture],
    at_us: npt.NDArray[np.int64],
    start_us: npt.NDArray[np.int64],
    end_us: npt.NDArray[np.int64],
) -> npt.NDArray[np.bool_]:
    """Return whether a closure, or lip to teeth, lies between a moment and a gesture, for each pair."""
    bars = [gesture for gesture in gestures if phoneme_of(gesture.key) in _BARS]
    if not bars:
        return np.zeros(len(at_us), dtype=np.bool_)
    begins, ends = (np.array([getattr(bar, edge) for bar in bars]) for edge in ("start_us", "end_us"))
    by_end, by_begin = np.argsort(ends, kind="stable"), np.argsort(begins, kind="stable")
    # Of the bars that have ended at a moment, the latest start; of those that have not begun, the earliest end.
    latest_start = np.concatenate([[-_NEVER_US], np.maximum.accumulate(begins[by_end])])
    earliest_end = np.concatenate([np.minimum.accumulate(ends[by_begin][::-1])[::-1], [_NEVER_US]])
    over = latest_start[np.searchsorted(ends[by_end], at_us, "right")] >= end_us
    to_come = earliest_end[np.searchsorted(begins[by_begin], at_us, "left")] <= start_us
    return np.asarray(over | to_come)
