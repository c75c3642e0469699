"""Accents as rules over general American, which is the accent of the CMU dictionary.

`ACCENTS` has for each accent its rules in the order in which they are applied (`phonology.py` says what a rule is).

Source of the non-rhotic rules: Wells, Accents of English (1982), vol. 1, sections 2.2 (lexical sets: BATH, LOT,
NURSE, START, NORTH, FORCE, CURE, NEAR, SQUARE, lettER) and 3.2 (R dropping, linking and intrusive R, yod), for
received pronunciation, from memory; that WHINE is said like WINE (3.2.4) holds for most Americans too. The list of
words in the BATH set is from memory too. The vowel of LOT is rounded in received pronunciation, and ARPAbet has no
symbol for it: AO is the nearest for the lips. NURSE stays ER, which then means the vowel without R. General American
has the same vowel in HURRY and NURSE; here the spelling tells them apart.
"""

from __future__ import annotations

from typing import Literal

from lipsync.text.phonology import PhonologicalRule

Accent = Literal["american", "non-rhotic"]
AMERICAN: Accent = "american"

# Stems of the BATH set; with an ending, or as the last part of a compound, they belong to it too.
_BATH = """
    advanc|advantag|aft|after|alas|answer|ask|aunt|avalanch|banana|bask|basket|bath|behalf|blanch|blast|branch|brass|
    calf|calv|can't|cask|casket|cast|castl|chanc|chant|clasp|class|command|contrast|craft|daft|danc|demand|disaster|
    draft|draught|enchant|enhanc|exampl|fast|fasten|flask|franc|gasp|ghastl|giraff|glanc|glass|graft|grant|graph|
    grasp|grass|half|halv|lanc|last|lath|laugh|laughter|mast|master|moustach|nast|pass|past|pastor|pastur|path|plant|
    plaster|pranc|raft|rascal|rasp|raspberr|rather|sampl|shaft|shan't|slander|slant|staff|stanc|task|tranc|vantag|vast|wrath
"""
_IN_BATH = "".join(
    (
        r"(?:^|-|post|light|house|lamp|out|over|fore|broad|grand|head|foot|tele|photo|para|school)",
        "(?:" + "".join(_BATH.split()) + ")",
        r"(?:e|'s|s|es|ed|d|ing|in'|er|est|y|ies|ly|e?n|ment|ward|noon)*",
        r"(?:$|-|man$|men$|room$|work$|time$|port$|hopper$|fish$)",
    )
)

_WINE = PhonologicalRule("WINE for WHINE: which, what", r"HH (?=W )", "", always=True)

_NON_RHOTIC: tuple[PhonologicalRule, ...] = (
    _WINE,
    PhonologicalRule("LOT rounded: lamp-POST's cOst, wAsh", r"AA([012]) (?!R )", r"AO\1 ", r"o|wa|qua|wha"),
    PhonologicalRule(
        "strong OF, FROM, WHAT, BECAUSE as LOT", r"AH1 ", "AO1 ", r"^(?:of|from|what|what's|because|wasn't)$"
    ),
    PhonologicalRule("BATH: dAnce", r"AE([12]) (?=[FSTNMVLZD])", r"AA\1 ", _IN_BATH),
    PhonologicalRule("yod kept: nEW, tUne", r"(?<=\b[TDN] )(?=UW\d |UH\d R )", "Y ", r"[tdn](?:u|ew|eu|iew)"),
    PhonologicalRule("HURRY apart from NURSE", r"ER1 (?=[AEIOU])", "AH1 R ", r"urr[aeiouy]|our[aeiouy]|orry|orou"),
    PhonologicalRule("NURSE before a vowel: fuRRy, heR own", r"ER([12]) (?=[AEIOU&])", r"ER\1 R ", always=True),
    PhonologicalRule("lettER before a vowel: lettER of", r"ER0 (?=[AEIOU&])", "AH0 R ", always=True),
    PhonologicalRule("lettER", r"ER0 (?![AEIOU&])", "AH0 ", always=True),
    PhonologicalRule("NEAR", r"I[HY](\d) R (?![AEIOU&])", r"IH\1 AH0 ", always=True),
    PhonologicalRule("fIRE, sOUR", r"(AY|AW)(\d) R (?![AEIOU&])", r"\1\2 AH0 ", always=True),
    PhonologicalRule("CURE, FORCE: pOOR, fOUR", r"(?:U[HW]|OW)(\d) R (?![AEIOU&])", r"AO\1 ", always=True),
    PhonologicalRule("START, NORTH, SQUARE: R dropped", r"(?<=\d )R (?![AEIOU&])", "", always=True),
    PhonologicalRule("intrusive R: idea R of, law R and", r"(?<=\b(?:AA|AO|AH)\d )(?=& )", "R "),
)

ACCENTS: dict[Accent, tuple[PhonologicalRule, ...]] = {AMERICAN: (_WINE,), "non-rhotic": _NON_RHOTIC}
