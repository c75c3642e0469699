"""What a rule of pronunciation is: a pattern over a word's phonemes, what takes its place, and in which spellings.

The pattern is a regular expression over phonemes with stress, each with a space after it, then a mark for what
follows the word: `& ` a vowel to which it is linked, `=S ` a consonant, and which, `| ` a pause or a vowel without a
link. In ARPAbet a vowel begins with one of AEIOU and a consonant does not: `[AEIOU]` stands for a vowel, `[AEIOU&]`
for a vowel in this word or the next.
"""

from __future__ import annotations

import re
from dataclasses import dataclass

from lipsync.listen.derive import Symbols

Mark = str  # what follows a word: one of these, the name of a consonant behind its sign
VOWEL, CONSONANT, PAUSE = "&", "=", "|"


@dataclass(frozen=True, slots=True)
class Rule:
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

        >>> Rule("final ER0", r"ER0 (?![AEIOU&])", "AH0 ").applied(("L", "EH1", "T", "ER0"), ("letter",), "|")
        ('L', 'EH1', 'T', 'AH0')
        """
        if self.spelling and not any(re.search(self.spelling, spelling) for spelling in spellings):
            return symbols
        written = " ".join((*symbols, after, ""))
        return tuple(re.sub(self.pattern, self.to, written).split()[:-1])
