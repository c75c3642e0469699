"""Adds to the listed pronunciations of each word those that the speaker may use in this line.

In: the words and cues of a line, each word's pronunciations, and the speaker's accent. Out: for each word the same
pronunciations, then those that follow from rules: of the accent (`accents.py`) and of all speakers (`phonology.py`).
The recording decides between them. The next word matters: a final R is linked to a vowel with which it begins.

Order: the listed pronunciations; the form with all rules of the accent; forms without one of these rules; forms with
one rule of all speakers. Where a rule of the accent always holds, a listed pronunciation that breaks it is left out,
because the recogniser was trained on American speech: after AO it finds an R whether it is said or not. What the
studio has listed itself always stays; only its forms in the accent are added.
"""

from __future__ import annotations

import itertools
from collections.abc import Iterable, Iterator, Sequence

from lipsync.phonemes import VOWELS
from lipsync.text.accents import ACCENTS, Accent
from lipsync.text.morphology import Pronunciation, Symbols
from lipsync.text.phonology import CONSONANT, HABITS, PAUSE, VOWEL, WEAK, NextSound, PhonologicalRule
from lipsync.text.script import SpokenWord, Token, key_of

Said = Sequence[Pronunciation]

MOST_ADDED = 6  # pronunciations to one word; chosen: each takes time, and may be chosen wrongly
MOST_MEAN = 3  # pronunciations to a word in the mean over a line; chosen


def as_spoken(tokens: Sequence[Token], said: Sequence[Said], accent: Accent) -> list[Said]:
    """Return for each word of a line its listed pronunciations, then those that the rules add."""
    words = [token for token in tokens if isinstance(token, SpokenWord)]
    ways = [
        tuple(_ways(_spellings(word), given, next_sounds, ACCENTS[accent]))
        for word, given, next_sounds in zip(words, said, _next_sounds(tokens, said), strict=True)
    ]
    added = [max(0, len(all_ways) - len(given)) for given, all_ways in zip(said, ways, strict=True)]
    most_in_line = MOST_MEAN * len(words)
    most = next(n for n in range(MOST_ADDED, -1, -1) if sum(min(one, n) for one in added) <= most_in_line)
    return [all_ways[: len(given) + most] for given, all_ways in zip(said, ways, strict=True)]


def _spellings(word: SpokenWord) -> tuple[str, ...]:
    """Return the word as it is written, and the spoken words that it is read as."""
    return tuple(dict.fromkeys([key_of(word.text), *(form for reading in word.readings for form in reading)]))


def _next_sounds(tokens: Sequence[Token], said: Sequence[Said]) -> Iterator[tuple[NextSound, ...]]:
    """Yield for each word what may follow it: a vowel, with a link or without; a consonant; or a pause."""
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
    spellings: tuple[str, ...], given: Said, next_sounds: Sequence[NextSound], accent: Sequence[PhonologicalRule]
) -> Iterator[Pronunciation]:
    """Yield the pronunciations of a word, the likeliest first, no two with the same phonemes."""
    known: set[Symbols] = set()
    for one in _ranked(spellings, given, next_sounds, accent):
        if one.bare not in known:
            known.add(one.bare)
            yield one


def _ranked(
    spellings: tuple[str, ...], given: Said, next_sounds: Sequence[NextSound], accent: Sequence[PhonologicalRule]
) -> Iterator[Pronunciation]:
    sure = [rule for rule in accent if rule.always]
    for one in given:
        if one.origin == "production" or any(
            _with_rules(sure, one, spellings, after) == one for after in next_sounds
        ):
            yield one
    not_own = [one for one in given if one.origin != "production"]
    weak = [Pronunciation(way, "dictionary") for way in WEAK.get(spellings[0], ()) if not_own]
    without_one = ([rule for rule in accent if rule is not left_out] for left_out in accent if not left_out.always)
    for rules in (accent, *without_one, sure):
        for one, after in itertools.product((*given, *weak), next_sounds):
            yield _with_rules(rules, one, spellings, after)
    for habit in HABITS:
        for one, after in itertools.product((*not_own, *weak), next_sounds):
            yield _with_rules((habit, *accent), one, spellings, after)


def _with_rules(
    rules: Iterable[PhonologicalRule], one: Pronunciation, spellings: tuple[str, ...], after: NextSound
) -> Pronunciation:
    symbols = one.symbols
    for rule in rules:
        symbols = rule.applied(symbols, spellings, after)
    return Pronunciation(symbols, one.origin)
