"""Judges words against the commonest small words: whether one of these is said in place of a word, or between two.

In: a scored sound, words where they were put, and the confidence of each. Out: the `Confidence` of each word, judged
again.

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
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from functools import cached_property
from itertools import chain

import numpy as np

from lipsync.align.acoustic_model import (
    BEGIN,
    END,
    INSIDE,
    PHONES,
    PLACE,
    SINGLE,
    STATES,
    Floats,
)
from lipsync.align.chains import Chains
from lipsync.align.competing_paths import NO_SPEECH, Symbols
from lipsync.align.confidence import Confidence
from lipsync.align.evidence import JOINED_US, TICK_US, FoundWord
from lipsync.align.scored_sound import ScoredSound
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
MOST_SENONES = 1 << 16  # they are numbered with 16 bits
OUTER_TICKS = 15  # chosen: how many ticks before and behind the line are taken along

_Placed = tuple[str, str, str, int]  # a phone, that before it, that after it, and its place in the word
_SILENT: _Placed = (SILENCE, SILENCE, SILENCE, SINGLE)


_Row = list[_Placed]  # one phone for each way that the place between words may be filled, or one for all


@dataclass(frozen=True)
class _Middle:
    """A place between words where one of some words may be said, or nothing.

    Attributes:
        early: the words before it, at most `REACH`; none where the stretch begins.
        late: the words behind it, likewise.
        words: those that may be said in it.
    """

    early: tuple[Symbols, ...]
    late: tuple[Symbols, ...]
    words: tuple[Symbols, ...]

    @cached_property
    def left(self) -> str:
        """The phone before it."""
        return self.early[-1][-1] if self.early else SILENCE

    @cached_property
    def right(self) -> str:
        """The phone behind it."""
        return self.late[0][0] if self.late else SILENCE

    @cached_property
    def firsts(self) -> list[str]:
        """The phones that may follow the words before it."""
        return sorted({self.right, *(word[0] for word in self.words)})

    @cached_property
    def lasts(self) -> list[str]:
        """The phones that may lead to the words behind it."""
        return sorted({self.left, *(word[-1] for word in self.words)})

    @cached_property
    def leading(self) -> list[list[_Row]]:
        """The phones of each word before it; of the last phone of all, one for each of `firsts`."""
        befores = ([SILENCE], *([word[-1]] for word in self.early))
        afters = (*([word[0]] for word in self.early[1:]), self.firsts)
        return [_rows(*word) for word in zip(self.early, befores, afters, strict=False)]

    @cached_property
    def trailing(self) -> list[list[_Row]]:
        """The phones of each word behind it; of the first phone of all, one for each of `lasts`."""
        befores = (self.lasts, *([word[-1]] for word in self.late))
        afters = (*([word[0]] for word in self.late[1:]), [SILENCE])
        return [_rows(*word) for word in zip(self.late, befores, afters, strict=False)]

    @cached_property
    def said(self) -> Mapping[Symbols, list[_Placed]]:
        """The phones of each word that may be said in it."""
        return {word: [row[0] for row in _rows(word, [self.left], [self.right])] for word in self.words}

    def rows(self) -> Iterator[_Row]:
        """Return all phones that may occur, in rows."""
        return chain(self.said.values(), *self.leading, *self.trailing)


def _rows(word: Symbols, befores: Sequence[str], afters: Sequence[str]) -> list[_Row]:
    """Return the phones of a word between each of some phones and each of others."""
    if len(word) == 1:
        return [[(word[0], before, after, SINGLE) for before in befores for after in afters]]
    inside = [[(word[k], word[k - 1], word[k + 1], INSIDE)] for k in range(1, len(word) - 1)]
    begin = [(word[0], before, word[1], BEGIN) for before in befores]
    return [begin, *inside, [(word[-1], word[-2], after, END) for after in afters]]


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

    def __init__(self, sound: ScoredSound, words: Sequence[FoundWord]) -> None:
        """Take the sound of these words, whose times count from its start."""
        self.words = words
        self._per_us = sound.factor / TICK_US
        self._ticks = sound.ticks
        short = [at for at, word in enumerate(words) if len(word.symbols) <= SHORT]
        places = [*((at, at + 1) for at in short), *((at, at) for at in range(1, len(words)))]
        self._middles = {place: self._middle(*place) for place in places}
        rows = chain.from_iterable(middle.rows() for middle in self._middles.values())
        self._chains = _scored(sound, set(chain.from_iterable(rows)))

    def gained_instead(self, at: int, ways: Sequence[Symbols]) -> float | None:
        """Return the gain of the best small word in the place of a word; `ways` are the word's own pronunciations.

        None if there is no room even for the words as written: then nothing can be said.
        """
        paths = _Paths(self._chains.within(self._ticks_around(at, at + 1)), self._middles[at, at + 1])
        own, *others = paths.totals([self.words[at].symbols, *(word for word in SMALL_WORDS if word not in ways)])
        return max(others) - own if np.isfinite(own) else None

    def gained_before(self, at: int) -> tuple[float, int, int] | None:
        """Return the gain of the best small word before a word, and its start and end in microseconds.

        None if there is no room for any.
        """
        ticks = self._ticks_around(at, at)
        paths = _Paths(self._chains.within(ticks), self._middles[at, at])
        totals = paths.totals(SMALL_WORDS)
        best = max(totals)
        if not np.isfinite(best):
            return None
        first, end = paths.ticks_of(SMALL_WORDS[totals.index(best)])
        start_us, end_us = (round((ticks.start + tick) / self._per_us) for tick in (first, end))
        return best - paths.total_of_none(), start_us, end_us

    def _middle(self, end: int, begin: int) -> _Middle:
        """Return the place between the words before `end` and those from `begin` on; words between these are own."""
        said = [word.symbols for word in self.words]
        early, late = said[max(0, end - REACH) : end], said[begin : begin + REACH]
        return _Middle(tuple(early), tuple(late), (*SMALL_WORDS, *said[end:begin]))

    def _ticks_around(self, end: int, begin: int) -> slice:
        """Return the ticks of a place and of the words around it, and `OUTER_TICKS` outside the line."""
        first, behind = max(0, end - REACH), min(len(self.words), begin + REACH)
        start = round(self.words[first].start_us * self._per_us) - (0 if first else OUTER_TICKS)
        stop = round(self.words[behind - 1].end_us * self._per_us) + (0 if behind < len(self.words) else OUTER_TICKS)
        return slice(max(0, start), min(self._ticks, stop))


class _Paths:
    """The best paths up to a place between words, and from it on.

    Before, between and behind the words there is a silence that may be left out.
    """

    def __init__(self, chains: Chains[_Placed], middle: _Middle) -> None:
        self._chains, self._middle = chains, middle
        self._reached = dict(zip(middle.firsts, self._up_to(), strict=True))
        heads = self._from()
        self._heads = dict(zip(middle.lasts, heads, strict=True))
        self._rest = dict(zip(middle.lasts, self._silence_before(heads), strict=True))

    def totals(self, words: Sequence[Symbols]) -> list[float]:
        """Return for each word the log likelihood of the best path if it is said in the place."""
        order = sorted(range(len(words)), key=lambda word: -len(words[word]))
        said = [words[place] for place in order]
        phones = [self._middle.said[word] for word in said]
        reached = np.stack([self._reached[word[0]] for word in said])
        for k in range(len(said[0])):
            own = [word[k] for word in phones if len(word) > k]  # the longest words come first
            reached[: len(own)] = self._chains.ahead(own, reached[: len(own)])
        rest = np.stack([self._rest[word[-1]] for word in said])
        found = dict(zip(order, (reached + rest).max(axis=1).tolist(), strict=True))
        return [found[word] for word in range(len(words))]

    def total_of_none(self) -> float:
        """Return the log likelihood of the best path if nothing is said in the place."""
        return float((self._reached[self._middle.right] + self._heads[self._middle.left]).max())

    def ticks_of(self, word: Symbols) -> tuple[int, int]:
        """Return the first tick of a word on the best path, if it is said in the place, and the first behind it."""
        phones, reached = self._middle.said[word], self._reached[word[0]][None]
        behind = reached
        for phone in phones:
            behind = self._chains.ahead([phone], behind)
        end = int((behind[0] + self._rest[word[-1]]).argmax())
        return self._chains.first_tick(phones, reached, end), end

    def _up_to(self) -> Floats:
        """Return the paths up to the place, for each phone that may follow."""
        reached = self._chains.begin()
        for word in self._middle.leading:
            reached = self._silence_behind(reached)
            for phones in word:
                reached = self._chains.ahead(phones, reached)
        reached = self._silence_behind(reached)
        return np.broadcast_to(reached, (len(self._middle.firsts), reached.shape[1]))

    def _from(self) -> Floats:
        """Return the paths from the first word behind the place on, for each phone that may lead to it."""
        rest = self._chains.end()
        for word in reversed(self._middle.trailing):
            rest = self._silence_before(rest)
            for phones in reversed(word):
                rest = self._chains.back(phones, rest)
        return np.broadcast_to(rest, (len(self._middle.lasts), rest.shape[1]))

    def _silence_behind(self, reached: Floats) -> Floats:
        return np.maximum(reached, self._chains.ahead([_SILENT], reached))

    def _silence_before(self, rest: Floats) -> Floats:
        return np.maximum(rest, self._chains.back([_SILENT], rest))


def _scored(sound: ScoredSound, asked: set[_Placed]) -> Chains[_Placed]:
    """Return phones scored for each tick; a state that several of them share is scored once.

    Between words any sound is possible, not only silence.
    """
    model, best = sound.model, sound.alone.max(axis=(1, 2))
    # A state is its phone, its place in it, and its senone, as one number.
    phones = sorted(asked | {_SILENT})
    senones = np.array([model.states_between(*phone) for phone in phones], np.int64)
    own = np.array([PLACE[phone] for phone, *_ in phones])[:, None] * STATES + np.arange(STATES)
    distinct, rows = np.unique(own * MOST_SENONES + senones, return_inverse=True)
    places, senone = np.divmod(distinct, MOST_SENONES)
    of_phone, state = np.divmod(places, STATES)
    scores = np.empty((len(distinct), sound.ticks))
    for phone in np.unique(of_phone):
        one = of_phone == phone
        scores[one] = model.scores(sound.densities(PHONES[phone]), senone[one]).T
    silent = of_phone == PLACE[SILENCE]
    scores[silent] = np.maximum(scores[silent], best - NO_SPEECH)
    by_phone = dict(zip(phones, rows.reshape(-1, STATES).tolist(), strict=True))
    return Chains.scored(scores, model.stays()[of_phone, state], by_phone)
