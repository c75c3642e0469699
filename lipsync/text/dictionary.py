"""Finds the pronunciations of a word: production's own list, CMU dictionary, rules on known words, then a guess.

In: a word of the text with its readings, and the production's list. Out: its pronunciations, each with its origin,
the likeliest first; the recording decides between them. Phonemes are ARPAbet with stress.

Order for each spoken word: the production's list; the dictionary; interjections and contractions that the dictionary
lacks; what follows from known words (morphology.py); a guess from the letters (g2p.py). A reading that would have to
be guessed is used only where no other reading is known.

Sources: the CMU Pronouncing Dictionary (data/README.md says which version; its licence is beside it). The
interjections and the contractions are written down here by ear.
"""

from __future__ import annotations

import functools
import gzip
import itertools
import re
from collections.abc import Mapping
from importlib import resources

from lipsync.errors import LineError
from lipsync.message import Where
from lipsync.text.abbreviations import Reading
from lipsync.text.g2p import guess
from lipsync.text.morphology import Pronunciation, Symbols, derived, halves, joined
from lipsync.text.script import SpokenWord, key_of

OwnList = Mapping[str, tuple[Symbols, ...]]

MOST = 12  # pronunciations of one word that are tried; chosen: beyond that the sound cannot tell them apart

# Interjections that the CMU dictionary lacks.
INTERJECTIONS: dict[str, str] = {
    "aah": "AA1",
    "ahem": "AH0 HH EH1 M",
    "aww": "AO1",
    "brr": "B R ER0",
    "eek": "IY1 K",
    "erm": "ER1 M",
    "gah": "G AA1",
    "grr": "G R ER0",
    "haha": "HH AA1 HH AA1",
    "meh": "M EH1",
    "mmm": "M",
    "nuh": "N AH1",
    "oo": "UW1",
    "ooo": "UW1",
    "pfft": "P F T",
    "psst": "P S T",
    "pst": "P S T",
    "tsk": "T IH0 S K",
    "zzz": "Z",
}

# Contractions, as scripts write them, that the CMU dictionary lacks.
RUN_TOGETHER: dict[str, str] = {
    "coulda": "K UH1 D AH0",
    "cuppa": "K AH1 P AH0",
    "cuz": "K AH0 Z",
    "d'ya": "D Y AH0",
    "d'you": "D Y UW1",
    "dontcha": "D OW1 N CH AH0",
    "don'tcha": "D OW1 N CH AH0",
    "fraid": "F R EY1 D",
    "innit": "IH1 N IH0 T",
    "mighta": "M AY1 T AH0",
    "musta": "M AH1 S T AH0",
    "s'pose": "S P OW1 Z",
    "shoulda": "SH UH1 D AH0",
    "sorta": "S AO1 R T AH0",
    "tryna": "T R AY1 N AH0",
    "useta": "Y UW1 S T AH0",
    "whatcha": "W AH1 CH AH0",
    "woulda": "W UH1 D AH0",
}

_LINE = re.compile(rb"([^ (\n]+)(?:\(\d+\))? ([^\n]+)\n")


def pronounce(word: SpokenWord, own: OwnList, file: str = "") -> tuple[Pronunciation, ...]:
    """Return the pronunciations of a word of the text, at most `MOST`, no two with the same phonemes.

    Args:
        word: the word.
        own: the production's list: word -> its pronunciations.
        file: the file that an error names.

    Raises:
        LineError: if it has no pronunciation and none can be guessed.

    >>> [" ".join(p.symbols) for p in pronounce(SpokenWord("42", (("forty", "two"),)), {})]
    ['F AO1 R T IY0 T UW1']
    """
    for key in (word.text, key_of(word.text)):
        if key in own:
            return tuple(Pronunciation(symbols, "production") for symbols in own[key])
    sayings = [saying for reading in word.readings if all(saying := [_known(form, own) for form in reading])]
    try:
        found = [list(joined(saying)) for saying in sayings or [_guessed(word.readings[0], own)]]
    except ValueError:
        raise LineError.of("no pronunciation", Where(file, "text"), word=word.text) from None
    # One of each reading in turn, so that the limit does not cut off the later readings.
    turns = itertools.chain.from_iterable(itertools.zip_longest(*found))
    distinct: dict[Symbols, Pronunciation] = {}
    for pronunciation in filter(None, turns):
        distinct.setdefault(pronunciation.bare, pronunciation)
    return tuple(distinct.values())[:MOST]


def look_up(form: str) -> tuple[Symbols, ...]:
    """Return the CMU dictionary's pronunciations of a word, in its order; none if the word is not in it.

    >>> look_up("read")
    (('R', 'EH1', 'D'), ('R', 'IY1', 'D'))
    """
    lines, key = _lines(), form.encode()
    found = []
    for match in _LINE.finditer(lines, _first_from(lines, key)):
        if match[1] != key:
            break
        found.append(tuple(match[2].decode().split()))
    return tuple(found)


@functools.cache
def _lines() -> bytes:
    """Return the dictionary's text, its lines sorted by the bytes of their words. Unpacking takes 20 ms, once."""
    return gzip.decompress(resources.files("lipsync.text").joinpath("data/cmudict.dict.gz").read_bytes())


def _first_from(lines: bytes, key: bytes) -> int:
    """Return the offset of the first line whose word is not before the key, by binary search."""
    low, high = 0, len(lines)
    while low < high:
        middle = lines.rfind(b"\n", 0, (low + high) // 2) + 1
        end = lines.index(b"\n", middle) + 1
        if re.split(rb"[ (]", lines[middle:end], maxsplit=1)[0] < key:
            low = end
        else:
            high = middle
    return low


def _entries(form: str, own: OwnList) -> tuple[Pronunciation, ...]:
    """Return the pronunciations that a list has for exactly this word."""
    if form in own:
        return tuple(Pronunciation(symbols, "production") for symbols in own[form])
    lacked = INTERJECTIONS.get(form) or RUN_TOGETHER.get(form)
    found = look_up(form) or ((tuple(lacked.split()),) if lacked else ())
    return tuple(Pronunciation(symbols, "dictionary") for symbols in found)


def _known(form: str, own: OwnList) -> tuple[Pronunciation, ...]:
    return _entries(form, own) or derived(form, lambda one: _entries(one, own))


def _guessed(reading: Reading, own: OwnList) -> list[tuple[Pronunciation, ...]]:
    """Return each word of a reading, the unknown ones guessed; a hyphenated word is taken part by part."""

    def guesses(part: str) -> tuple[Pronunciation, ...]:
        compound = halves(part, lambda one: _entries(one, own))
        return (*compound, Pronunciation(guess(part), "guess"))

    def known_or_guessed(part: str) -> tuple[Pronunciation, ...]:
        # An ending with an apostrophe is known; only the stem before it has to be guessed.
        return _known(part, own) or ("'" in part and derived(part, guesses)) or guesses(part)

    parts = [part for form in reading for part in ([form] if _known(form, own) else form.split("-")) if part]
    return [known_or_guessed(part) for part in parts]
