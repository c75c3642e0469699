"""As people speak: adds to how each word is said in a dictionary how it may be said in this line.

In: the words and cues of a line, each word's pronunciations, and the speaker's accent. Out: for each word the same
pronunciations, and behind them those that follow from tables of rules: the accent's (`accents.py`) and everybody's
(`phonology.py`). The sound decides between them. The next word matters: a final R links to a vowel that it begins
with.

Ranked: what was there stays first; then the accent's own form; then forms that differ from it in one rule. Where a
rule of the accent always holds, a dictionary's form that breaks it is left out, for the recogniser's ear is American:
after AO it hears an R whether it is said or not. What the studio has written down itself always stays; it is given
the accent beside it, and nothing else.
"""

from __future__ import annotations

import itertools
from collections.abc import Iterable, Iterator, Sequence

from lipsync.phonemes import VOWELS
from lipsync.text.accents import ACCENTS, Accent
from lipsync.text.morphology import Pronunciation, Symbols
from lipsync.text.phonology import CONSONANT, HABITS, PAUSE, VOWEL, WEAK, Mark, PhonologicalRule
from lipsync.text.script import SpokenWord, Token, key_of

Said = Sequence[Pronunciation]

MOST_ADDED = 6  # to one word; chosen: each costs time, and a chance to be wrong
MOST_MEAN = 3  # to the words of a line in the mean; chosen


def as_spoken(tokens: Sequence[Token], said: Sequence[Said], accent: Accent) -> list[Said]:
    """Return for each word of a line its pronunciations, and behind them those of its accent and of everybody."""
    words = [token for token in tokens if isinstance(token, SpokenWord)]
    ways = [
        tuple(_ways(_spellings(word), own, marks, ACCENTS[accent]))
        for word, own, marks in zip(words, said, _marks(tokens, said), strict=True)
    ]
    added = [max(0, len(all_ways) - len(own)) for own, all_ways in zip(said, ways, strict=True)]
    room = MOST_MEAN * len(words)
    most = next(n for n in range(MOST_ADDED, -1, -1) if sum(min(one, n) for one in added) <= room)
    return [all_ways[: len(own) + most] for own, all_ways in zip(said, ways, strict=True)]


def _spellings(word: SpokenWord) -> tuple[str, ...]:
    """Return the word of the text, and the forms that it is read as."""
    return tuple(dict.fromkeys([key_of(word.text), *(form for reading in word.readings for form in reading)]))


def _marks(tokens: Sequence[Token], said: Sequence[Said]) -> Iterator[tuple[Mark, ...]]:
    """Yield for each word what may follow it: a vowel, to which it can be linked or not; a consonant; or a pause."""
    at = 0
    for token, after in itertools.pairwise((*tokens, None)):
        if not isinstance(token, SpokenWord):
            continue
        at += 1
        if not isinstance(after, SpokenWord):
            yield (PAUSE,)
        elif said[at][0].bare[0] in VOWELS:
            yield VOWEL, PAUSE
        else:
            yield (CONSONANT + said[at][0].bare[0],)


def _ways(
    spellings: tuple[str, ...], own: Said, marks: Sequence[Mark], accent: Sequence[PhonologicalRule]
) -> Iterator[Pronunciation]:
    """Yield the ways to say a word, the likeliest first, no two of the same phonemes."""
    known: set[Symbols] = set()
    for one in _ranked(spellings, own, marks, accent):
        if one.bare not in known:
            known.add(one.bare)
            yield one


def _ranked(
    spellings: tuple[str, ...], own: Said, marks: Sequence[Mark], accent: Sequence[PhonologicalRule]
) -> Iterator[Pronunciation]:
    sure = [rule for rule in accent if rule.always]
    for one in own:
        if one.origin == "production" or any(_under(sure, one, spellings, mark) == one for mark in marks):
            yield one
    listed = [one for one in own if one.origin != "production"]
    weak = [Pronunciation(way, "dictionary") for way in WEAK.get(spellings[0], ()) if listed]
    one_less = ([rule for rule in accent if rule is not less] for less in accent if not less.always)
    for rules in (accent, *one_less, sure):
        for one, mark in itertools.product((*own, *weak), marks):
            yield _under(rules, one, spellings, mark)
    for habit in HABITS:
        for one, mark in itertools.product((*listed, *weak), marks):
            yield _under((habit, *accent), one, spellings, mark)


def _under(
    rules: Iterable[PhonologicalRule], one: Pronunciation, spellings: tuple[str, ...], mark: Mark
) -> Pronunciation:
    symbols = one.symbols
    for rule in rules:
        symbols = rule.applied(symbols, spellings, mark)
    return Pronunciation(symbols, one.origin)
