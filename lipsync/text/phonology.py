"""What a rule of pronunciation is: a pattern over a word's phonemes, what takes its place, and in which spellings.

The pattern is a regular expression over phonemes with stress, each with a space after it, then a mark for what
follows the word: `& ` a vowel to which it is linked, `=S ` a consonant, and which, `| ` a pause or a vowel without a
link. In ARPAbet a vowel begins with one of AEIOU and a consonant does not: `[AEIOU]` stands for a vowel, `[AEIOU&]`
for a vowel in this word or the next.

How everybody speaks who does not read out single words: weak forms, and sounds that are dropped.

In: nothing; out: `WEAK`, weak forms that the CMU dictionary lacks, and `HABITS`, rules (`phonology.py` says how one
is read), each of which is tried alone.

Source: Gimson, An Introduction to the Pronunciation of English (1980), chapters 10 (weak forms) and 11 (elision of T
and D between consonants), from memory, in the forms that American and British speakers share.

Left out, for on labelled speech they gained nothing (tests/MEASURED.md): H dropped from he, her, had, which no lips
show, and which scripts write ('er, she'd); weak vowels said further front or back; -ing as -in, which scripts write.
A flap stays T or D: for the lips it is one.
"""

from __future__ import annotations

import re
from dataclasses import dataclass

from lipsync.text.morphology import Symbols

Mark = str  # what follows a word: one of these, the name of a consonant behind its sign
VOWEL, CONSONANT, PAUSE = "&", "=", "|"


@dataclass(frozen=True, slots=True)
class PhonologicalRule:
    """One row.

    Attributes:
        name: of the rule, with an example.
        pattern: over phonemes.
        to: what takes its place.
        spelling: a pattern that one of the word's spellings must hold; "" for any word.
        always: whether such a speaker does it wherever it fits; else the form without it is tried too.
    """

    name: str
    pattern: str
    to: str
    spelling: str = ""
    always: bool = False

    def applied(self, symbols: Symbols, spellings: tuple[str, ...], after: Mark) -> Symbols:
        """Return the phonemes under this rule; the same where it does not fit.

        >>> rule = PhonologicalRule("final ER0", r"ER0 (?![AEIOU&])", "AH0 ")
        >>> rule.applied(("L", "EH1", "T", "ER0"), ("letter",), "|")
        ('L', 'EH1', 'T', 'AH0')
        """
        if self.spelling and not any(re.search(self.spelling, spelling) for spelling in spellings):
            return symbols
        written = " ".join((*symbols, after, ""))
        return tuple(re.sub(self.pattern, self.to, written).split()[:-1])


def _rows(table: str) -> dict[str, tuple[Symbols, ...]]:
    rows = (line.split(maxsplit=1) for line in table.strip().splitlines())
    return {word: tuple(tuple(way.split()) for way in ways.split("|")) for word, ways in rows}


WEAK = _rows(
    """
    as      AH0 Z
    at      AH0 T
    but     B AH0 T
    could   K AH0 D
    do      D AH0
    from    F R AH0 M
    had     HH AH0 D
    have    HH AH0 V
    he      HH IY0
    her     HH ER0
    just    JH AH0 S T
    must    M AH0 S T
    of      AH0 V
    should  SH AH0 D
    some    S AH0 M
    us      AH0 S
    were    W ER0
    would   W AH0 D
    you     Y AH0
    your    Y ER0
    gonna   G AH0 N AH0
    wanna   W AO1 N AH0
    y'all   Y AA1 L
    """
)

HABITS: tuple[PhonologicalRule, ...] = (
    PhonologicalRule("last T, D dropped between consonants: las(t) post", r"(?<=[^\d] )[TD] (?==)", ""),
    PhonologicalRule("T lost between two S, which run together: fir(st) step", r"(?<= )S T (?==S )", ""),
)
