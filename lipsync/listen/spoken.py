"""As people speak: adds to how each word of a line is said in a dictionary how it may be said in the line.

In: for each word of a line its spelling and pronunciations, what follows it, and the speaker's accent. Out: the same
pronunciations, and behind them those that follow from tables of rules: the accent's (`accents.py`) and everybody's
(`habits.py`). The sound decides between them. The next word matters: a final R may link to its vowel.

A rule is a row: a pattern over a word's phonemes, what takes its place, and in which spellings. Patterns are regular
expressions over phonemes with stress, each with a space after it, and a last mark for what follows the word: `& ` a
vowel, to which the word is linked, `= ` a consonant, `| ` a pause, or a vowel to which it is not linked. In ARPAbet
a vowel begins with one of AEIOU and a consonant does not.

Ranked: what was there stays first; then the accent's own form, then the forms that differ from it in one rule.
What the studio has written down itself is given the accent, and nothing else.
"""

from __future__ import annotations

import itertools
import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from lipsync.listen.accents import ACCENTS
from lipsync.listen.derive import Pronunciation, Symbols
from lipsync.listen.habits import HABITS, WEAK
from lipsync.listen.rule import Rule
from lipsync.listen.script import CueToken, SpokenWord, Token

MOST_ADDED = 6  # to one word; chosen: each costs time, and a chance to be wrong
MOST_MEAN = 3  # to the words of a line, in the mean; chosen

VOWEL, CONSONANT, PAUSE = "& ", "= ", "| "

Said = Sequence[Pronunciation]


def as_spoken(tokens: Sequence[Token], said: Sequence[Said], accent: str) -> list[Said]:
    """Return for each word of a line its pronunciations, and behind them those of the accent and of all who speak."""
    words = [token for token in tokens if isinstance(token, SpokenWord)]
    added = [
        list(itertools.islice(_added(word, own, after, accent), MOST_ADDED))
        for word, own, after in zip(words, said, _afters(tokens, said), strict=True)
    ]
    most = next(n for n in range(MOST_ADDED, -1, -1) if sum(len(a[:n]) for a in added) <= MOST_MEAN * len(words))
    return [(*own, *more[:most]) for own, more in zip(said, added, strict=True)]
