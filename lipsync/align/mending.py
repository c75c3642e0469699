"""Finds a line again where a word is not what is said, so that the words beside it keep their places.

In: the sound, the pronunciations of each word, and a search. Out: the search as it then stands, and the `Doubt` of
each word.

A word that nobody said takes room from its neighbours, and one said twice leaves a stretch that they spread into. So
where a word is all but surely wrong, its stretch is searched again with, in its place, the phonemes that are heard
there, or none, or the word twice, whichever fits best (`lattice`). The word itself then lies over what is heard
there; of two sayings it is the better one; where nothing is heard it lies between its neighbours, short. Its doubt
stays; the others' are judged anew.
"""

from __future__ import annotations

import itertools
from collections.abc import Container, Mapping, Sequence
from dataclasses import dataclass, replace

from lipsync.align.coarse import Words
from lipsync.align.competing_paths import Symbols
from lipsync.align.confidence import Doubt, doubts
from lipsync.align.evidence import Evidence, FoundWord, WordRange, WordSpan, stretches_of
from lipsync.align.recogniser import NotFoundError, Samples
from lipsync.align.search import AlignedWord, Alignment, find_words
from lipsync.align.word_places import places_of
from lipsync.audio.features import RATE_HZ
from lipsync.timing import US_PER_S, us_of_sample

MOST_MENDED = 4  # words of a stretch; chosen: each costs another search
UNSAID = 0.2  # chosen: only a word less likely said is mended
LEAST_GAIN = 45.0  # chosen: natural units; nor unless another way is so much likelier: with 30, noise misleads
NO_WORSE = 0.3  # chosen: by so much the support of the other words may fall
STILL_US = 20_000  # chosen: by so much a word may move and is still called unmoved

Entry = Sequence[Symbols]  # the pronunciations of one word to be searched for
Way = tuple[Entry, ...]  # what is searched for in a word's place: itself, what is heard there, nothing, itself twice


@dataclass(frozen=True, slots=True)
class Examined:
    """A line as it stands, and how sure each of its words is."""

    search: Alignment
    doubts: tuple[Doubt, ...]


def examined(samples: Samples, words: Words, search: Alignment) -> Examined:
    """Return a search with its doubts, mended where a word is not what is said."""
    spans = [(heard.times_us[0], heard.times_us[-1]) for heard in search.words]
    found: list[AlignedWord] = []
    judged: list[Doubt] = []
    for stretch in stretches_of(spans, us_of_sample(len(samples), RATE_HZ)):
        own = slice(stretch.first, stretch.end)
        heard, doubted = _examine(
            _sound(samples, stretch),
            words[own],
            [_moved(one, -stretch.start_us) for one in search.words[own]],
            search.factor,
        )
        found += [_moved(one, stretch.start_us) for one in heard]
        judged += doubted
    return Examined(replace(search, words=tuple(found)), tuple(judged))


def _sound(samples: Samples, stretch: WordRange) -> Samples:
    return samples[stretch.start_us * RATE_HZ // US_PER_S : stretch.end_us * RATE_HZ // US_PER_S]


def _moved(heard: AlignedWord, by_us: int) -> AlignedWord:
    return replace(heard, times_us=tuple(time_us + by_us for time_us in heard.times_us))


def _examine(
    sound: Samples, words: Words, found: Sequence[AlignedWord], factor: float
) -> tuple[list[AlignedWord], list[Doubt]]:
    """Return the words of a stretch as they stand, and their doubts."""
    ways: list[Way] = [(word,) for word in words]
    mended: dict[int, tuple[Doubt, AlignedWord]] = {}
    part, told, judged = _judged(sound, ways, found, factor)
    while (worst := _worst(told, judged, ways, mended)) is not None and len(mended) < MOST_MENDED:
        at = sum(len(way) for way in ways[:worst])
        changed = [*ways[:worst], _other_way(part, told[at], at, words[worst]), *ways[worst + 1 :]]
        try:
            again = find_words(sound, _entries(changed), factor).words if any(changed) else ()
        except NotFoundError:
            break
        if not again:
            break
        mended[worst] = judged[at], found[at]
        if _is_mended(_others(ways, found, mended), _others(changed, again, mended)):
            ways, found = changed, again
            part, told, judged = _judged(sound, ways, found, factor)
    if not mended:
        return list(found), judged
    first = {place: heard for place, (_, heard) in mended.items() if ways[place] != (words[place],)}
    lengths = [len(word[0]) for word in words]
    laid = places_of(lengths, _by_word(ways, found), first, us_of_sample(len(sound), RATE_HZ))
    places = itertools.accumulate((len(way) for way in ways), initial=0)
    return laid, [
        mended[k][0] if k in mended else judged[at] for k, at in zip(range(len(words)), places, strict=False)
    ]


def _others(ways: Sequence[Way], found: Sequence[AlignedWord], wrong: Container[int]) -> list[AlignedWord]:
    return [one for place, some in enumerate(_by_word(ways, found)) if place not in wrong for one in some]


def _is_mended(before: Sequence[AlignedWord], after: Sequence[AlignedWord]) -> bool:
    """Return whether the other words lie elsewhere than before, and are no less supported there."""
    both = list(zip(before, after, strict=True))
    moves = [abs(one.times_us[end] - other.times_us[end]) for one, other in both for end in (0, -1)]
    if max(moves, default=0) <= STILL_US:
        return False
    # Each counts by its length before: squeezed to nothing it would hardly count.
    rises = sum(one.ticks * (other.support - one.support) for one, other in both)
    return rises >= -NO_WORSE * sum(one.ticks for one in before)


def _by_word(ways: Sequence[Way], found: Sequence[AlignedWord]) -> list[list[AlignedWord]]:
    """Return what was found in place of each word of the text."""
    rest = iter(found)
    return [[next(rest) for _ in way] for way in ways]


def _entries(ways: Sequence[Way]) -> list[Entry]:
    return [entry for way in ways for entry in way]


def _judged(
    sound: Samples, ways: Sequence[Way], found: Sequence[AlignedWord], factor: float
) -> tuple[WordSpan, list[Evidence], list[Doubt]]:
    placed = [
        FoundWord(entry[heard.pronunciation], heard.times_us)
        for entry, heard in zip(_entries(ways), found, strict=True)
    ]
    part = WordSpan(sound, factor, placed)
    told = list(part.evidence())
    return part, told, doubts([one.symbols for one in placed], told)


def _worst(
    told: Sequence[Evidence],
    judged: Sequence[Doubt],
    ways: Sequence[Way],
    mended: Mapping[int, tuple[Doubt, AlignedWord]],
) -> int | None:
    """Return the word that is least likely what is said, if one should be mended."""
    gains: dict[int, float] = {}
    at = 0
    for place, way in enumerate(ways):
        if place not in mended and judged[at].said < UNSAID:
            gains[place] = max(told[at].otherwise, told[at].left_out, told[at].twice)
        at += len(way)
    worst = max(gains, key=lambda place: gains[place], default=None)
    return None if worst is None or gains[worst] < LEAST_GAIN else worst


def _other_way(part: WordSpan, told: Evidence, at: int, word: Entry) -> Way:
    if told.twice >= max(told.otherwise, told.left_out):
        return word, word
    heard = part.lattice.heard_instead(at)
    return ((heard,),) if heard else ()
