"""Finds how words are said: the production's own list, the CMU dictionary, rules on known words, then a guess.

In: a word of the text with its readings, and the production's list. Out: its pronunciations, each with its origin,
the likeliest first; the sound decides between them. Phonemes are ARPAbet with stress.

Order for each spoken form: production's list; dictionary; interjections that it lacks; a possessive, plural or
contraction of a known word; halves of a compound; a guess from the letters. A reading that would have to be guessed
is used only where no other is known.

Sources: the CMU Pronouncing Dictionary (data/README.md says which; its licence is beside it); the sounds of 's and 'd
follow the last sound of the word (Quirk et al., A Comprehensive Grammar of the English Language, 1985, 3.5 and 5.80,
from memory). The interjections are written down here by ear.
"""

from __future__ import annotations

import functools
import gzip
import itertools
import re
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from importlib import resources

from lipsync.errors import LineError
from lipsync.listen.guess import guess
from lipsync.listen.script import SpokenWord, key_of
from lipsync.model import Origin
from lipsync.phonemes import split_stress

Symbols = tuple[str, ...]
OwnList = Mapping[str, tuple[Symbols, ...]]

MOST = 12  # pronunciations of one word that are tried; chosen: beyond that the sound cannot tell them apart


@dataclass(frozen=True, slots=True)
class Pronunciation:
    """One way to say a word: ARPAbet with stress, and where it is from."""

    symbols: Symbols
    origin: Origin

    def __post_init__(self) -> None:
        if not self.symbols:
            raise ValueError("a pronunciation needs at least one phoneme")
        for symbol in self.symbols:
            split_stress(symbol)

    @property
    def bare(self) -> Symbols:
        """The phonemes without stress."""
        return tuple(split_stress(symbol)[0] for symbol in self.symbols)


INTERJECTIONS: dict[str, str] = {
    "mmm": "M",
    "psst": "P S T",
    "pst": "P S T",
    "brr": "B R ER0",
    "grr": "G R ER0",
    "tsk": "T IH0 S K",
    "ahem": "AH0 HH EH1 M",
    "aah": "AA1",
    "erm": "ER1 M",
    "haha": "HH AA1 HH AA1",
    "pfft": "P F T",
    "ooo": "UW1",
    "oo": "UW1",
    "eek": "IY1 K",
    "aww": "AO1",
    "meh": "M EH1",
    "gah": "G AA1",
    "nuh": "N AH1",
    "nah": "N AA1",
    "mhm": "M HH AH1 M",
    "zzz": "Z",
}

_HISSING = frozenset(["S", "Z", "SH", "ZH", "CH", "JH"])
_VOICELESS = frozenset(["P", "T", "K", "F", "TH", "S", "SH", "CH", "HH"])


def pronounce(word: SpokenWord, own: OwnList, file: str = "", place: str = "text") -> tuple[Pronunciation, ...]:
    """Return the pronunciations of a word of the text, without repeats.

    Raises:
        LineError: if it cannot be said at all.

    >>> [" ".join(p.symbols) for p in pronounce(SpokenWord("42", (("forty", "two"),)), {})]
    ['F AO1 R T IY0 T UW1']
    """
    if entries := own.get(key_of(word.text)) or own.get(word.text):
        return tuple(Pronunciation(symbols, "production") for symbols in entries)
    sayings = [[_known(form, own) for form in reading] for reading in word.readings]
    found = [list(_joined(saying)) for saying in sayings if all(saying)]
    if not found:
        try:
            found = [list(_joined([_known(form, own) or _guessed(form) for form in word.readings[0]]))]
        except ValueError:
            raise LineError.one(
                file, place, f"no pronunciation is known for {word.text!r}; add it to the production's pronunciations"
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
    lines = _lines()
    key = form.encode()
    first = _first_line_from(lines, key)
    found = []
    while match := _LINE.match(lines, first):
        if match[1] != key:
            break
        found.append(tuple(match[2].decode().split()))
        first = match.end()
    return tuple(found)


_LINE = re.compile(rb"([^ (\n]+)(?:\(\d+\))? ([^\n]+)\n")


@functools.cache
def _lines() -> bytes:
    return gzip.decompress(resources.files("lipsync.listen").joinpath("data/cmudict.dict.gz").read_bytes())


def _first_line_from(lines: bytes, key: bytes) -> int:
    """Return where the first line begins whose word is not before the key: by halving, lines are in order."""
    low, high = 0, len(lines)
    while low < high:
        middle = lines.rfind(b"\n", 0, (low + high) // 2) + 1
        match = _LINE.match(lines, middle)
        assert match is not None
        if match[1] < key:
            low = match.end()
        else:
            high = middle
    return low


@functools.cache
def _in_dictionary(form: str) -> tuple[Symbols, ...]:
    if found := look_up(form):
        return found
    if form in INTERJECTIONS:
        return (tuple(INTERJECTIONS[form].split()),)
    return tuple(_by_rule(form)) or _compound(form)


def _known(form: str, own: OwnList) -> tuple[Pronunciation, ...]:
    if form in own:
        return tuple(Pronunciation(symbols, "production") for symbols in own[form])
    return tuple(Pronunciation(symbols, "dictionary") for symbols in _in_dictionary(form))


def _guessed(form: str) -> tuple[Pronunciation, ...]:
    return (Pronunciation(guess(form), "guess"),)


def _joined(saying: list[tuple[Pronunciation, ...]]) -> Iterable[Pronunciation]:
    """Yield every way to say spoken words one after the other; the least certain origin is the whole's."""
    for parts in itertools.product(*saying):
        origins = {part.origin for part in parts}
        origin: Origin = "guess" if "guess" in origins else "dictionary" if "dictionary" in origins else "production"
        yield Pronunciation(tuple(symbol for part in parts for symbol in part.symbols), origin)


def _by_rule(form: str) -> Iterable[Symbols]:
    """Yield what follows from a known word: its possessive, plural or contraction, -in' for -ing, a lost h."""
    if form.endswith("in'"):
        for symbols in look_up(form[:-1] + "g"):
            if symbols[-2:] == ("IH0", "NG"):
                yield (*symbols[:-2], "AH0", "N")
        return
    if form.startswith("'"):
        yield from (symbols[1:] for symbols in look_up("h" + form[1:]) if symbols[0] == "HH")
        yield from look_up(form[1:])
        return
    for ending, said in _ENDINGS:
        if form.endswith(ending):
            for symbols in look_up(form[: -len(ending)]):
                yield (*symbols, *said(split_stress(symbols[-1])[0]))
            return


def _s(last: str) -> Symbols:
    return ("IH0", "Z") if last in _HISSING else ("S",) if last in _VOICELESS else ("Z",)


def _d(last: str) -> Symbols:
    return ("IH0", "D") if last in ("T", "D") else ("D",)


def _ll(last: str) -> Symbols:
    return ("L",) if last in ("IY", "UW", "EY", "AY", "OW") else ("AH0", "L")


# Ending -> what it adds to the sound before it.
_ENDINGS = (
    ("'s", _s),
    ("'d", _d),
    ("'ll", _ll),
    ("'ve", lambda last: ("AH0", "V")),
    ("'re", lambda last: ("ER0",)),
    ("n't", lambda last: ("AH0", "N", "T")),
    ("'", lambda last: ()),
    ("s", _s),
)


def _compound(form: str) -> tuple[Symbols, ...]:
    """Return the parts of a compound said one after the other, if each is known: with hyphens, or two long halves."""
    if "-" in form:
        parts = [part for part in form.split("-") if part]
    else:
        cuts = [(form[:at], form[at:]) for at in range(3, len(form) - 2)]
        # The cut with the longer short half: "post|office" before "pos|toffice".
        good = [cut for cut in cuts if all(look_up(half) for half in cut)]
        parts = list(max(good, key=lambda cut: min(len(half) for half in cut), default=()))
    said = [_in_dictionary(part) for part in parts]
    if not said or not all(said):
        return ()
    return tuple(tuple(itertools.chain.from_iterable(ways)) for ways in itertools.product(*said))[:MOST]
