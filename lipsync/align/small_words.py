"""Judges words against the commonest small words: whether one of these is said in place of a word, or between two.

In: sound, words where they were put, the confidence of each, the acoustic model, and the voice factor. Out: the
`Confidence` of each word, judged again.

Small words are short and weak: "the" may pass for the end of "by" and the closure of "door", "than" for "are".
Phonemes scored without their neighbours hardly tell them apart; scored between their neighbours they are more
distinct. So for each word, the two words before it, the word and the two words behind it are aligned as written, and
again with each small word in its place, or before it. The figure is the gain of the best small word in log likelihood
(Viterbi: Rabiner 1989, Proceedings of the IEEE 77(2):257-286, section III). Small words that lie in a pause are found
elsewhere (`mending.py`).

The words are the most frequent of Kucera and Francis (1967, Computational Analysis of Present-Day American English),
from memory, that have up to four phonemes, weak forms beside strong ones, and some of dialogue.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace

import numpy as np
import numpy.typing as npt

from lipsync.align.acoustic_model import BEGIN, END, INSIDE, PHONES, SINGLE, STATES, AcousticModel, Floats, terms_of
from lipsync.align.competing_paths import NO_SPEECH, Symbols
from lipsync.align.confidence import Confidence
from lipsync.align.evidence import JOINED_US, TICK_US, FoundWord
from lipsync.align.recogniser import Samples
from lipsync.align.voice import slowed
from lipsync.audio.features import PER_TICK, features_of, mel_powers
from lipsync.model import DOUBTFUL_BELOW
from lipsync.phonemes import SILENCE

_WORDS = """
the DH AH, DH IY; a AH, EY; an AH N, AE N; and AE N D, AH N D; of AH V; to T AH, T UW; in IH N; on AA N; is IH Z
are AA R, ER; it IH T; he HH IY, IY; she SH IY; I AY; you Y UW, Y AH; was W AA Z, W AH Z; were W ER; at AE T
for F AO R, F ER; that DH AE T; not N AA T; his HH IH Z; her HH ER; him HH IH M, IH M; my M AY; we W IY; be B IY
so S OW; no N OW; but B AH T; as AE Z; do D UW; by B AY; with W IH DH; or AO R; if IH F; this DH IH S; they DH EY
there DH EH R; have HH AE V; had HH AE D; can K AE N, K AH N; will W IH L; me M IY; up AH P; out AW T; then DH EH N
them DH EH M; from F R AH M; one W AH N; all AO L; oh OW; what W AH T; go G OW
"""
SMALL_WORDS: tuple[Symbols, ...] = tuple(
    tuple(way.split())
    for word in _WORDS.replace("\n", ";").split(";")
    if word.strip()
    for way in word.strip().split(" ", 1)[1].split(",")
)

# Chosen on synthesised lines and on recordings of people (tests/MEASURED.md), in natural logarithms: the gain of a
# small word between two words from which on it is likelier than not, and the further gain that makes its odds 2.7
# times as high.
SWALLOWED, STEP = 45.0, 5.0
# Learned on the same recordings: weights for the log odds that a word was said. The new odds depend on the odds
# before, on the gain of the best small word in its place, on whether the word is very short, and on a constant.
BEFORE, INSTEAD, VERY_SHORT, EVEN = 0.29, -0.095, -1.8, 4.5
STEEPER = 2.0  # multiplies the odds; chosen as for the other curves: words that were said mostly come out sure
MOST_ODDS, LEAST_GAIN, MOST_GAIN = 6.0, -30.0, 60.0  # chosen: values beyond these say no more than these
SHORT = 4  # chosen: a word with more phonemes than this is not confused with a small word
LONGEST_US = 300_000  # chosen: a small word is no longer; a longer sound is a held vowel or a filler
LEAST_SAID = 0.2  # chosen: a word less likely said than this may have been put anywhere, so nothing is judged by it
REACH = 2  # chosen: how many words on either side are aligned again
OUTER_TICKS = 15  # chosen: how many ticks before and behind the line are taken along

Ints = npt.NDArray[np.int64]
Moves = npt.NDArray[np.int8]  # (tick, state), or (chain, tick, state): see `_searched`


_Placed = tuple[str, str, str, int]  # a phone, that before it, that after it, and its place in the word
_SILENT: _Placed = (SILENCE, SILENCE, SILENCE, SINGLE)


@dataclass(frozen=True, slots=True)
class _Chain:
    """The phones of some words, with a silence before, between and behind the words that may be left out.

    Attributes:
        scores: log likelihoods of shape (tick, state).
        stay: log probability of staying in each state for another tick.
        leave: log probability of leaving each state.
        heads: the first state of each word.
    """

    scores: Floats
    stay: Floats
    leave: Floats
    heads: tuple[int, ...]


def judged_again(
    heard: SmallWordsHeard, ways: Sequence[Sequence[Symbols]], sure: Sequence[Confidence]
) -> list[Confidence]:
    """Return the confidence of words with small words taken into account.

    `said` is judged again for short words, `alone` for words between which there is no pause. A word that was hardly
    said keeps its `said`, and so do its neighbours.

    Args:
        heard: the words where they were put.
        ways: the pronunciations of each word.
        sure: the confidence of each word before.
    """
    words = heard.words
    judged = list(sure)
    for at, (word, before) in enumerate(zip(words, sure, strict=True)):
        may_be_small = len(word.symbols) <= SHORT and word.end_us - word.start_us <= LONGEST_US
        if may_be_small and min(near.said for near in sure[max(0, at - 1) : at + 2]) >= LEAST_SAID:
            gain = heard.gained_instead(at, ways[at])
            if gain is not None:
                judged[at] = replace(before, said=_said(before.said, gain, len(word.symbols)))
    for at in range(1, len(words)):
        joined = words[at].start_us - words[at - 1].end_us <= JOINED_US
        if joined and min(judged[at - 1].confidence, judged[at].confidence) >= DOUBTFUL_BELOW:
            gained = heard.gained_before(at)
            if gained is None:
                continue
            gain, start_us, end_us = gained
            if end_us - start_us <= LONGEST_US:
                edge_us = words[at].start_us
                # The small word counts against the word within whose time most of it lies.
                over = at - 1 if edge_us - start_us > end_us - edge_us else at
                alone = min(judged[over].alone, _likely((SWALLOWED - gain) / STEP))
                judged[over] = replace(judged[over], alone=alone)
    return judged


def _said(before: float, gain: float, phonemes: int) -> float:
    """Return the probability that a word was said, from the one before and the gain of the best small word."""
    before = min(1 - 1e-9, before)
    odds = max(-MOST_ODDS, min(MOST_ODDS, math.log(before / (1 - before))))
    gain = max(LEAST_GAIN, min(MOST_GAIN, gain))
    return _likely(STEEPER * (BEFORE * odds + INSTEAD * gain + (VERY_SHORT if phonemes <= 2 else 0.0) + EVEN))


def _likely(odds: float) -> float:
    """Return the probability for log odds."""
    return 1 / (1 + math.exp(-max(-50.0, min(50.0, odds))))


class SmallWordsHeard:
    """A stretch of a line, scored for its words and for small words."""

    def __init__(self, sound: Samples, factor: float, words: Sequence[FoundWord], model: AcousticModel) -> None:
        """Take the sound of these words, whose times count from its start."""
        self.words, self._model = words, model
        self._per_us = factor / TICK_US
        terms = terms_of(features_of(mel_powers(slowed(sound, factor)))[::PER_TICK])
        self._ticks: int = terms.shape[1]
        self._densities = {phone: model.densities(terms, phone) for phone in PHONES}
        alone = {phone: model.scores(self._densities[phone], model.states(phone)) for phone in PHONES}
        best = np.stack([one.max(axis=1) for one in alone.values()]).max(axis=0)
        # The log likelihoods of (tick, column), each state scored once, and the columns of each phone between others.
        self._scores: Floats = np.maximum(alone[SILENCE], (best - NO_SPEECH)[:, None])
        self._columns: dict[_Placed, Ints] = {_SILENT: np.arange(STATES)}
        self._column_of: dict[tuple[str, int], int] = {}
        stays = {phone: np.clip(model.stay(phone), 0.05, 0.98) for phone in PHONES}
        self._stay = {phone: np.log(stay) for phone, stay in stays.items()}
        self._leave = {phone: np.log(1 - stay) for phone, stay in stays.items()}

    def gained_instead(self, at: int, ways: Sequence[Symbols]) -> float | None:
        """Return the gain of the best small word in the place of a word; `ways` are the word's own pronunciations.

        None if there is no room even for the words as written: then nothing can be said.
        """
        own = self.words[at].symbols
        first, end = max(0, at - REACH), min(len(self.words), at + 1 + REACH)
        others = [word for word in SMALL_WORDS if word not in ways]
        chains = self._chains(range(first, at), range(at + 1, end), [[own], *([word] for word in others)])
        totals, _, _ = _searched(chains)
        return float(totals[1:].max() - totals[0]) if np.isfinite(totals[0]) else None

    def gained_before(self, at: int) -> tuple[float, int, int] | None:
        """Return the gain of the best small word before a word, and its start and end in microseconds.

        None if there is no room for any.
        """
        first, end = max(0, at - REACH), min(len(self.words), at + REACH)
        chains = self._chains(range(first, at), range(at, end), [[], *([word] for word in SMALL_WORDS)])
        totals, moves, last = _searched(chains)
        best = int(totals[1:].argmax()) + 1
        if not np.isfinite(totals[best]):
            return None
        state = _states(moves[best, :, : len(chains[best].stay)], int(last[best]))
        head = chains[best].heads[at - first]
        own = np.flatnonzero((state >= head) & (state < head + STATES * len(SMALL_WORDS[best - 1])))
        from_tick, to_tick = (self._around(first, end).start + tick for tick in (own[0], own[-1] + 1))
        gain = float(totals[best] - totals[0])
        return gain, round(float(from_tick) / self._per_us), round(float(to_tick) / self._per_us)

    def _chains(self, before: range, after: range, between: Sequence[Sequence[Symbols]]) -> list[_Chain]:
        """Return a chain for each list of words in `between`: the words before, that list, the words after."""
        early, late = ([self.words[place].symbols for place in part] for part in (before, after))
        lines = [_placed([*early, *words, *late]) for words in between]
        self._score({one for line, _ in lines for one in line} - self._columns.keys())
        scores = self._scores[self._around(before.start, after.stop)]
        return [self._chain(line, heads, scores) for line, heads in lines]

    def _around(self, first: int, end: int) -> slice:
        """Return the ticks in which words are aligned again: where they lie, and `OUTER_TICKS` outside the line."""
        begin_us, end_us = self.words[first].start_us, self.words[end - 1].end_us
        begin = round(begin_us * self._per_us) - (0 if first else OUTER_TICKS)
        last = round(end_us * self._per_us) + (0 if end < len(self.words) else OUTER_TICKS)
        return slice(max(0, begin), min(self._ticks, last))

    def _score(self, asked: Iterable[_Placed]) -> None:
        """Score the states of some phones, those of each phone together."""
        states = {one: self._model.states_between(*one).tolist() for one in sorted(asked)}
        new: dict[str, dict[int, None]] = {}
        for one, own in states.items():
            for state in own:
                if (one[0], state) not in self._column_of:
                    new.setdefault(one[0], {})[state] = None
        tables = [self._scores]
        for phone, unscored in new.items():
            tables.append(self._model.scores(self._densities[phone], np.fromiter(unscored, np.uint16)))
            for state in unscored:
                self._column_of[phone, state] = STATES + len(self._column_of)
        self._scores = np.concatenate(tables, axis=1)
        for one, own in states.items():
            self._columns[one] = np.array([self._column_of[one[0], state] for state in own])

    def _chain(self, line: Sequence[_Placed], heads: tuple[int, ...], scores: Floats) -> _Chain:
        """Return phones as a chain, with their columns of the scores over some ticks."""
        stay, leave = (np.concatenate([table[one[0]] for one in line]) for table in (self._stay, self._leave))
        columns = np.concatenate([self._columns[one] for one in line])
        return _Chain(scores.take(columns, axis=1), stay, leave, heads)


def _placed(words: Sequence[Symbols]) -> tuple[list[_Placed], tuple[int, ...]]:
    """Return the phones of some words between their neighbours, with silences, and the first state of each word."""
    flat = [SILENCE, *(symbol for word in words for symbol in word), SILENCE]
    line, heads, place = [_SILENT], list[int](), 0
    for word in words:
        heads.append(len(line) * STATES)
        for k, symbol in enumerate(word):
            place += 1
            where = SINGLE if len(word) == 1 else BEGIN if k == 0 else END if k == len(word) - 1 else INSIDE
            line.append((symbol, flat[place - 1], flat[place + 1], where))
        line.append(_SILENT)
    return line, tuple(heads)


def _searched(chains: Sequence[_Chain]) -> tuple[Floats, Moves, Ints]:
    """Return for each chain the log likelihood of its best path, its moves, and the path's last state.

    A move says how the best path comes to a state at a tick: 0 it was there before, 1 from the state before, 2 from
    the last state of the word before, past the silence.
    """
    rows, width, ticks = len(chains), max(len(one.stay) for one in chains), len(chains[0].scores)
    scores = np.full((ticks, rows, width), -np.inf)
    stay, leave = (np.full((rows, width), -np.inf) for _ in range(2))
    for row, one in enumerate(chains):
        own = slice(len(one.stay))
        scores[:, row, own], stay[row, own], leave[row, own] = one.scores, one.stay, one.leave
    row_of = np.array([row for row, one in enumerate(chains) for _ in one.heads[1:]], int)
    heads = np.array([head for one in chains for head in one.heads[1:]], int)
    path = np.full((rows, width), -np.inf)
    path[:, [0, STATES]] = scores[0][:, [0, STATES]]
    moves = np.zeros((rows, ticks, width), np.int8)
    for tick in range(1, ticks):
        left, now, move = path + leave, path + stay, moves[:, tick]
        move[:, 1:] = left[:, :-1] > now[:, 1:]
        now[:, 1:] = np.maximum(now[:, 1:], left[:, :-1])
        past = left[row_of, heads - STATES - 1]
        move[row_of, heads] = np.where(past > now[row_of, heads], 2, move[row_of, heads])
        now[row_of, heads] = np.maximum(now[row_of, heads], past)
        path = now + scores[tick]
    left, every = path + leave, np.arange(rows)
    last = np.array([len(one.stay) - 1 for one in chains])
    last = np.where(left[every, last - STATES] > left[every, last], last - STATES, last)
    return left[every, last], moves, last


def _states(moves: Moves, state: int) -> Ints:
    """Return the state at each tick of the best path that ends in `state`."""
    states = np.empty(len(moves), np.int64)
    for tick in range(len(states) - 1, -1, -1):
        states[tick] = state
        state -= (0, 1, STATES + 1)[moves[tick, state]]
    return states
