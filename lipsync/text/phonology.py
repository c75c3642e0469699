"""What a rule of pronunciation is, and the rules that hold for all speakers of connected speech.

A `PhonologicalRule` is a pattern over a word's phonemes, what replaces it, and the spellings in which it holds. The
pattern is a regular expression over phonemes with stress, each followed by a space, and then a sign for the sound
that follows the word: `& ` a vowel to which the word is linked, `=S ` a consonant, here S, `| ` a pause or a vowel
without a link. In ARPAbet a vowel begins with one of AEIOU and a consonant does not: so `[AEIOU]` matches a vowel,
and `[AEIOU&]` a vowel in this word or the next.

`WEAK` has weak forms that the CMU dictionary lacks. `HABITS` are rules for dropped sounds; each is tried alone.

Source: Gimson, An Introduction to the Pronunciation of English (1980), chapters 10 (weak forms) and 11 (elision of T
and D between consonants), from memory, in the forms that American and British speakers share.

These were tried and left out, since they gained nothing on labelled speech (tests/MEASURED.md): H dropped from he,
her, had, which the lips do not show, and which scripts write ('er, she'd); weak vowels said further front or back;
-ing as -in, which scripts write. A flap stays T or D: the lips do the same for it.
"""

from __future__ import annotations

import re
from dataclasses import dataclass

from lipsync.text.morphology import Symbols

# The sign for the sound that follows a word: one of these; the phoneme stands behind that for a consonant.
NextSound = str
VOWEL, CONSONANT, PAUSE = "&", "=", "|"


@dataclass(frozen=True, slots=True)
class PhonologicalRule:
    """One rule.

    Attributes:
        name: its name, with an example.
        pattern: regular expression over phonemes and the sign for the next sound.
        to: what replaces the match.
        spelling: regular expression that must be found in one of the word's spellings; "" for any word.
        always: whether the speaker applies it wherever it fits; otherwise the form without it is tried too.
    """

    name: str
    pattern: str
    to: str
    spelling: str = ""
    always: bool = False

    def applied(self, symbols: Symbols, spellings: tuple[str, ...], after: NextSound) -> Symbols:
        """Return the phonemes with this rule applied; unchanged where it does not fit.

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


# Word -> its weak forms.
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
