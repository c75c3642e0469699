"""Finds how words are said: the production's own list, the CMU dictionary, rules on known words, then a guess.

In: a word of the text with its readings, and the production's list. Out: its pronunciations, each with its origin,
the likeliest first; the sound decides between them. Phonemes are ARPAbet with stress.

Order for each spoken form: production's list; dictionary; interjections and words run together that it lacks; what
follows from known words; a guess from the letters. A reading that would have to be guessed is used only where no
other is known.

Sources: the CMU Pronouncing Dictionary (data/README.md says which; its licence is beside it). The interjections
and the words run together are written down here by ear.
"""

from __future__ import annotations

import functools
import gzip
import itertools
import re
from collections.abc import Mapping
from importlib import resources

from lipsync.errors import LineError
from lipsync.text.abbreviations import Reading
from lipsync.text.g2p import guess
from lipsync.text.morphology import Pronunciation, Symbols, derived, halves, joined
from lipsync.text.script import SpokenWord, key_of

OwnList = Mapping[str, tuple[Symbols, ...]]

MOST = 12  # pronunciations of one word that are tried; chosen: beyond that the sound cannot tell them apart

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

# Words run together, as scripts write them, that it lacks too.
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


def pronounce(word: SpokenWord, own: OwnList, file: str = "", place: str = "text") -> tuple[Pronunciation, ...]:
    """Return the pronunciations of a word of the text, no two of the same phonemes; `file` and `place` for the error.

    Raises:
        LineError: if it cannot be said at all.

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
        raise LineError.one(
            file, place, f"nobody has said how {word.text!r} is spoken; add it to the production's pronunciations"
        ) from None
    # One of each reading in turn, so that the limit does not fall on the later readings alone.
    turns = itertools.chain.from_iterable(itertools.zip_longest(*found))
    unlike: dict[Symbols, Pronunciation] = {}
    for pronunciation in filter(None, turns):
        unlike.setdefault(pronunciation.bare, pronunciation)
    return tuple(unlike.values())[:MOST]


def look_up(form: str) -> tuple[Symbols, ...]:
    """Return the CMU dictionary's pronunciations of a word, the first one first; none if it is not in it.

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
    """Return the dictionary's text, whose lines are in the byte order of their words: 20 ms, once."""
    return gzip.decompress(resources.files("lipsync.text").joinpath("data/cmudict.dict.gz").read_bytes())


def _first_from(lines: bytes, key: bytes) -> int:
    """Return where the first line begins whose word is not before the key, found by halving."""
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
    """Return what stands in a list for a word itself."""
    if form in own:
        return tuple(Pronunciation(symbols, "production") for symbols in own[form])
    ours = INTERJECTIONS.get(form) or RUN_TOGETHER.get(form)
    written = look_up(form) or ((tuple(ours.split()),) if ours else ())
    return tuple(Pronunciation(symbols, "dictionary") for symbols in written)


def _known(form: str, own: OwnList) -> tuple[Pronunciation, ...]:
    return _entries(form, own) or derived(form, lambda one: _entries(one, own))


def _guessed(reading: Reading, own: OwnList) -> list[tuple[Pronunciation, ...]]:
    """Return a reading with the unknown of its words guessed, each part of a hyphenated one by itself."""

    def guesses(part: str) -> tuple[Pronunciation, ...]:
        compound = halves(part, lambda one: _entries(one, own))
        return (*compound, Pronunciation(guess(part), "guess"))

    def some(part: str) -> tuple[Pronunciation, ...]:
        # With an apostrophe the ending is certain, and only what stands before it has to be guessed.
        return _known(part, own) or ("'" in part and derived(part, guesses)) or guesses(part)

    parts = [part for form in reading for part in ([form] if _known(form, own) else form.split("-")) if part]
    return [some(part) for part in parts]
