"""Compares the words as written with what else may have been said in the same sound.

In: a sound, scored for each tick of 10 ms, and the phonemes of each word. Out, for each word: how much
more likely other ways to explain the sound are than the words as written; what was heard instead of the word; and the
probability that each of its phonemes begins at a tick. The ways are:

    as written   the words in order, each with or without a silence before it
    otherwise    the same, but in the place of one word whatever phonemes fit best, each for a price
    left out     the same without that word
    twice        the same with that word two times

Phonemes are scored without regard to their neighbours. The likelihood of a way is that of its best path (Viterbi:
Rabiner 1989, Proceedings of the IEEE 77(2):257-286, section III). The other words may move in it, so that a way also
gains by the room that a wrong word takes from its neighbours. Where a phoneme begins is a sum over all paths of the
words as written. A gain is a difference of log likelihood: above 0, the other way fits better.
"""

from __future__ import annotations

from collections.abc import Sequence
from functools import cached_property

import numpy as np
import numpy.typing as npt

from lipsync.align.acoustic_model import PHONES, PLACE, STATES, Floats
from lipsync.align.fine import SHARPNESS
from lipsync.align.scored_sound import ScoredSound
from lipsync.phonemes import SILENCE

PRICE = 8.0  # of each free phoneme, in log likelihood; chosen: with it most wrong words are found
# Chosen in the same way. Between words any sound is possible, not only silence; at each tick its log likelihood is by
# this much lower than that of the phoneme that fits best.
NO_SPEECH = 6.0

ENTRY_PRICE = PRICE + float(np.log(len(PHONES)))  # the price, and that it is this phone and none of the others

_LAST = STATES - 1

Symbols = tuple[str, ...]
Ints = npt.NDArray[np.int64]


class Lattice:
    """All paths through the sound of a line, tick by tick.

    The words and the silences before, between and behind them form a chain of phones, each of `STATES` states. "Free"
    phonemes belong to no word: any may follow any other, for `ENTRY_PRICE` each.
    """

    def __init__(self, sound: ScoredSound, words: Sequence[Symbols]) -> None:
        """Take a sound and the phonemes of each word."""
        self.words = words
        self.scores = sound.alone.copy()  # (tick, phone, state)
        each = self.scores.max(axis=2)
        self.best, self.usual = each.max(axis=1), each.mean(axis=1)
        silence = self.scores[:, PLACE[SILENCE]]
        np.maximum(silence, (self.best - NO_SPEECH)[:, None], out=silence)
        stay = sound.model.stays()
        self._stay, self._leave = np.log(stay), np.log(1 - stay)
        self._units, self._first = _chain(words)
        self._ahead, self._back = self._passes(np.maximum, 1.0)
        self.total = _either(np.maximum, self._ahead[-1] + self._left)
        self._before, self._after = self._around()

    @property
    def ticks(self) -> int:
        """The number of ticks of the line."""
        return len(self.scores)

    def alone(self, phone: str) -> Floats:
        """Return the log likelihood of a phoneme at each tick, in its best state."""
        fits: Floats = self.scores[:, PLACE[phone]].max(axis=1)
        return fits

    def word_ticks(self) -> list[tuple[int, int]]:
        """Return for each word on the best path its first tick and the first behind it; empty if there is no path."""
        if not np.isfinite(self.total):
            return []
        emit = self.scores[:, self._units].reshape(self.ticks, -1)
        unit = (self._ahead + self._back - emit).argmax(axis=1) // STATES
        firsts = np.array(self._first)
        ends = firsts + [len(word) for word in self.words]
        ticks = [np.flatnonzero((unit >= first) & (unit < end)) for first, end in zip(firsts, ends, strict=True)]
        return [(int(own[0]), int(own[-1]) + 1) for own in ticks] if all(map(len, ticks)) else []

    def left_out(self) -> Floats:
        """Return for each word the gain of leaving it out."""
        gained: Floats = (self._before[:-1] + self._after[1:]).max(axis=1) - self.total
        return gained

    def otherwise(self) -> Floats:
        """Return for each word the gain of free phonemes in its place."""
        return self._free_gains[: len(self.words)]

    def inserted(self) -> Floats:
        """Return for each gap, before each word and behind the last, the gain of free phonemes in it."""
        return self._free_gains[len(self.words) :]

    @cached_property
    def _free_gains(self) -> Floats:
        """The gains of both: together they take hardly longer than one of them."""
        before, after = (self._before[:-1], self._before), (self._after[1:], self._after)
        return self._gained(np.concatenate(before), np.concatenate(after))

    def _gained(self, before: Floats, after: Floats) -> Floats:
        """Return for each row the gain of free phonemes between the words before and the words after.

        Args:
            before: log likelihood of (row, tick) that all words before have ended there.
            after: log likelihood of (row, tick) that the words after begin there.
        """
        entry = -ENTRY_PRICE
        path = np.full((STATES, len(before), len(PHONES)), -np.inf)
        best = np.full(len(before), -np.inf)
        for tick in range(self.ticks):
            ended = (path[_LAST] + self._leave[:, _LAST]).max(axis=1)
            best = np.maximum(best, ended + after[:, tick])
            self._step(path, np.maximum(before[:, tick], ended) + entry, tick)
        ended = (path[_LAST] + self._leave[:, _LAST]).max(axis=1)
        gained: Floats = np.maximum(best, ended + after[:, -1]) - self.total
        return gained

    def heard_instead(self, word: int) -> Symbols:
        """Return the free phonemes that fit best in a word's place; none if leaving the word out fits better."""
        least = float((self._before[word] + self._after[word + 1]).max())
        return tuple(symbol for symbol, _, _ in self._free(self._before[word], self._after[word + 1], least))

    def heard_between(self, gap: int) -> list[tuple[str, int, int]]:
        """Return the free phonemes that fit best in the gap before a word, each with its first tick and its end."""
        return self._free(self._before[gap], self._after[gap], -np.inf)

    def _free(self, before: Floats, after: Floats, least: float) -> list[tuple[str, int, int]]:
        """Return the best free phonemes between two places, as `heard_between`; none if below `least`.

        `before` and `after` are one row of those of `_gained`.
        """
        entry = -ENTRY_PRICE
        path, entered = np.full((STATES, 1, len(PHONES)), -np.inf), np.zeros((len(PHONES), STATES), int)
        came: list[tuple[int, int]] = []  # for a phoneme that begins at each tick: the one before, and its first tick
        best, last, end = least, (-1, 0), 0
        for tick in range(self.ticks + 1):
            ended = path[_LAST, 0] + self._leave[:, _LAST]
            top = int(ended.argmax())
            if ended[top] + after[tick] > best:
                best, last, end = float(ended[top] + after[tick]), (top, int(entered[top, _LAST])), tick
            if tick == self.ticks:
                break
            written = bool(before[tick] >= ended[top])
            came.append((-1, 0) if written else (top, int(entered[top, _LAST])))
            begin = max(float(before[tick]), float(ended[top])) + entry
            own = path[:, 0].T
            moved = own[:, :-1] + self._leave[:, :-1] > own[:, 1:] + self._stay[:, 1:]
            entered[:, 1:] = np.where(moved, entered[:, :-1], entered[:, 1:])
            entered[:, 0] = np.where(begin > own[:, 0] + self._stay[:, 0], tick, entered[:, 0])
            self._step(path, np.array([begin]), tick)
        heard: list[tuple[str, int, int]] = []
        while last[0] >= 0:
            heard.append((PHONES[last[0]], last[1], end))
            end, last = last[1], came[last[1]]
        return [phone for phone in reversed(heard) if phone[0] != SILENCE]

    def _step(self, path: Floats, begin: Floats, tick: int) -> None:
        """Continue the best paths into free phonemes, of shape (state, row, phone), by one tick, in place."""
        for state in range(_LAST, -1, -1):
            before = path[state - 1] + self._leave[:, state - 1] if state else begin[:, None]
            own = path[state]
            own += self._stay[:, state]
            np.maximum(own, before, out=own)
            own += self.scores[tick, :, state]

    def twice(self) -> Floats:
        """Return for each word the gain of saying it two times."""
        lengths, rows = np.array([len(word) for word in self.words]), np.arange(len(self.words))
        units = np.full((len(rows), 2 * int(lengths.max()) + 1), PLACE[SILENCE])
        for row, word in enumerate(self.words):
            own = [PLACE[symbol] for symbol in word]
            units[row, : 2 * len(own) + 1] = [*own, PLACE[SILENCE], *own]
        emit = self.scores[:, units].reshape(self.ticks, len(rows), -1)
        stay, leave = self._stay[units].reshape(len(rows), -1), self._leave[units].reshape(len(rows), -1)
        end_first, again, end = lengths * STATES - 1, (lengths + 1) * STATES, (2 * lengths + 1) * STATES - 1
        path, best = np.full(stay.shape, -np.inf), np.full(len(rows), -np.inf)
        for tick in range(self.ticks + 1):
            left = path + leave
            best = np.maximum(best, left[rows, end] + self._after[1:, tick])
            if tick < self.ticks:
                path = path + stay
                path[:, 1:] = np.maximum(path[:, 1:], left[:, :-1])
                path[:, 0] = np.maximum(path[:, 0], self._before[:-1, tick])
                path[rows, again] = np.maximum(path[rows, again], left[rows, end_first])
                path = path + emit[tick]
        gained: Floats = best - self.total
        return gained

    def starts(self) -> list[Floats]:
        """Return for each word the probability that a phoneme begins at a tick, of shape (tick, phoneme)."""
        ahead, back = self._passes(np.logaddexp, SHARPNESS)
        total = _either(np.logaddexp, ahead[-1] + self._left)
        left = ahead[:-1] + self._left
        arrive = np.full((self.ticks, len(self._units)), -np.inf)
        arrive[0, :2] = 0.0
        arrive[1:, 1:] = left[:, _LAST:-STATES:STATES]
        skipping = self._skipping // STATES
        arrive[1:, skipping] = np.logaddexp(arrive[1:, skipping], left[:, self._skipping - STATES - 1])
        begins = np.exp(np.minimum(arrive + back[:, ::STATES] - total, 0.0))
        return [begins[:, first : first + len(word)] for first, word in zip(self._first, self.words, strict=True)]

    @property
    def _skipping(self) -> Ints:
        """The first state of each word but the first: a path may enter it past the silence, from the word before."""
        return np.array(self._first[1:], int) * STATES

    @property
    def _left(self) -> Floats:
        """Log probability of leaving each state of the chain."""
        left: Floats = self._leave[self._units].ravel()
        return left

    def _passes(self, either: np.ufunc, scale: float) -> tuple[Floats, Floats]:
        """Return two arrays of (tick, state): log likelihood of the paths up to it, and of those from it on.

        Both include the tick itself. `either` joins paths (maximum or sum); `scale` multiplies the scores.
        """
        emit = self.scores[:, self._units].reshape(self.ticks, -1) * scale
        stay, leave, heads = self._stay[self._units].ravel(), self._left, self._skipping
        ahead, back = np.full(emit.shape, -np.inf), np.full(emit.shape, -np.inf)
        ahead[0, [0, STATES]] = emit[0, [0, STATES]]
        back[-1, [-1, -STATES - 1]] = (emit[-1] + leave)[[-1, -STATES - 1]]
        arrive, tails = np.full(emit.shape[1], -np.inf), heads - STATES - 1
        for last, now, own in zip(ahead[:-1], ahead[1:], emit[1:], strict=True):
            left = last + leave
            arrive[1:] = left[:-1]
            arrive[heads] = either(left[heads - 1], left[tails])
            np.add(last, stay, out=now)
            either(now, arrive, out=now)
            now += own
        arrive[-1] = -np.inf
        for last, now, own in zip(back[:0:-1], back[-2::-1], emit[-2::-1], strict=True):
            arrive[:-1] = last[1:]
            arrive[tails] = either(last[tails + 1], last[heads])
            np.add(last, stay, out=now)
            either(now, arrive + leave, out=now)
            now += own
        return ahead, back

    def _around(self) -> tuple[Floats, Floats]:
        """Return two arrays of (word, tick), log likelihoods of the best paths.

        In the first, all words before this one have ended just before the tick. In the second, this word, or the
        silence before it, begins at the tick, and all words behind it follow.
        """
        count = len(self.words)
        before, after = (np.full((count + 1, self.ticks + 1), -np.inf) for _ in range(2))
        before[0, 0] = after[count, -1] = 0.0
        left = self._ahead + self._left
        ends = [0, *(first + len(word) for first, word in zip(self._first, self.words, strict=True))]  # silences
        for place, silence in enumerate(ends):
            before[place, 1:] = left[:, silence * STATES + _LAST]
            after[place, :-1] = self._back[:, silence * STATES]
            if place:
                before[place, 1:] = np.maximum(before[place, 1:], left[:, silence * STATES - 1])
            if place < count:
                after[place, :-1] = np.maximum(after[place, :-1], self._back[:, (silence + 1) * STATES])
        return before, after


def _chain(words: Sequence[Symbols]) -> tuple[Ints, list[int]]:
    """Return the chain of a line, as indices into `PHONES`, and the index in the chain where each word begins."""
    units, first = [PLACE[SILENCE]], []
    for word in words:
        first.append(len(units))
        units += [*(PLACE[symbol] for symbol in word), PLACE[SILENCE]]
    return np.array(units), first


def _either(either: np.ufunc, last: Floats) -> float:
    """Return the log likelihood of a whole line, which ends in its last silence or in its last word."""
    return float(either(last[-1], last[-STATES - 1]))
