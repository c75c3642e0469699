"""Turns a line's text into what is spoken: words with their readings, and cues.

In: the text as the scriptwriter wrote it. Out: a tuple of `SpokenWord` and `CueToken`, in order. One word of the text
stays one word, however many spoken words it takes ("42"), so that sheets show the text as it was written.

Conventions: a reading is a tuple of keys for the dictionary: small letters, plain apostrophes, no diacritics; a
letter that is named has a point after it, as in the CMU dictionary ("b."). A word can have several readings; the
recording decides between those that the dictionary knows. A cue stands in square brackets: [breath]. Everything
outside square brackets is spoken.
"""

from __future__ import annotations

import re
import unicodedata
from dataclasses import dataclass
from functools import lru_cache
from itertools import pairwise

from lipsync.errors import LineError
from lipsync.text.abbreviations import ABBREVIATIONS, CLIPPED, SIGNS, UNITS, WITHOUT_POINT, Reading
from lipsync.text.numerals import readings_of_number


@dataclass(frozen=True, slots=True)
class SpokenWord:
    """One word of the text.

    Attributes:
        text: as written, without the quotation marks and punctuation around it.
        readings: the ways to read it, the likeliest first.
    """

    text: str
    readings: tuple[Reading, ...]

    def __post_init__(self) -> None:
        if not self.text or not self.readings or not all(self.readings):
            raise ValueError(f"word {self.text!r} needs a text and at least one reading that is not empty")


@dataclass(frozen=True, slots=True)
class CueToken:
    """A cue in the text: a sound that is no word."""

    name: str


Token = SpokenWord | CueToken

_PLACE = "text"  # the place that faults name

_ALIKE = str.maketrans("’‘ʼ`´′‐‑−…", "''''''--- ", "\u00ad")
_LETTERS = str.maketrans(
    {"æ": "ae", "œ": "oe", "ø": "o", "ß": "ss", "ł": "l", "đ": "d", "þ": "th", "ð": "th", "ﬁ": "fi", "ﬂ": "fl"}
)
_CUE = re.compile(r"\[([^\[\]]*)\]")
_RANGE = re.compile(r"(?<=\d)–(?=[£$€]?\d)")
_BREAK = re.compile(r"[–—―⸺]|--+|\.{2,}")
_NUMBER_SIGN = re.compile(r"\b[Nn]o\.(?=\s*\d)")
_OUTSIDE = re.compile(r"^[^\w£$€#&+=@%°.'½¼¾-]+|[^\w%°'&+=@.½¼¾-]+$")
# A closing quotation mark or bracket, and a point or hyphen after it.
_QUOTED_STOP = re.compile(r"'*[\"“”„‟«»‹›)\]][\"“”„‟«»‹›)\]']*[.-]+$")
_INITIALS = re.compile(r"(?:[A-Za-z]\.){2,}[A-Za-z]?(?:'?s)?|[A-Z]{2,5}(?:'?s)?|[A-Z]&[A-Z]")
_KEEPS_APOSTROPHE = re.compile(r"(?:in|s|o|an|th|wi)'$", re.IGNORECASE)
_DRAWN_OUT = re.compile(r"([a-z])\1{2,}")


@lru_cache(maxsize=4096)  # several stages of a run ask for the same line's
def tokens_of(text: str, file: str = "") -> tuple[Token, ...]:
    """Return the words and cues of a line's text; `file` is named by the error.

    Raises:
        LineError: if there is no word and no cue, a cue has no name, or a bracket is open.

    >>> tokens_of("[breath] Nooo!")
    (CueToken(name='breath'), SpokenWord(text='Nooo', readings=(('nooo',), ('no',), ('noo',))))
    """
    found: list[Token] = []
    shouted = text.upper() == text
    for index, stretch in enumerate(_CUE.split(text)):
        if index % 2:  # `split` returns what the group of the pattern holds at the odd places
            name = " ".join(stretch.split()).lower()
            if not name:
                raise LineError.one(file, _PLACE, "holds an empty cue []; write its name, such as [breath]")
            found.append(CueToken(name))
        elif "[" in stretch or "]" in stretch:
            raise LineError.one(
                file, _PLACE, f"has half a bracket in {stretch.strip()!r}; close the cue, or remove it"
            )
        else:
            found += _words(stretch, shouted=shouted)
    if not found:
        raise LineError.one(file, _PLACE, "holds no word and no cue; write what is said, or a cue such as [breath]")
    return tuple(found)


def key_of(text: str) -> str:
    """Return the dictionary's key of a word: small letters, plain apostrophes, no diacritics.

    >>> key_of("Café’s")
    "cafe's"
    """
    small = text.translate(_ALIKE).lower().translate(_LETTERS)
    return "".join(c for c in unicodedata.normalize("NFD", small) if not unicodedata.combining(c))


def _words(stretch: str, *, shouted: bool) -> list[SpokenWord]:
    plain = _RANGE.sub("-", unicodedata.normalize("NFC", stretch).translate(_ALIKE))
    chunks = _BREAK.sub(" ", _NUMBER_SIGN.sub("# ", plain)).split()
    words = [_unit(before, chunk) or _word(chunk, shouted=shouted) for before, chunk in pairwise(["", *chunks])]
    return [word for word in words if word]


def _unit(before: str, chunk: str) -> SpokenWord | None:
    """Return a unit that stands by itself after figures, "10 m"; a unit of one letter can be read as the letter too.

    >>> _unit("1", "m"), _unit("ten", "m")
    (SpokenWord(text='m', readings=(('metre',), ('m.',))), None)
    """
    figures, text = _bare(before), _bare(chunk)
    key = key_of(text)
    small = text == key or key.startswith("°")  # in "I am 10. M is a letter" M is no unit
    if key not in UNITS or not small or not before[-1:].isnumeric() or not readings_of_number(key_of(figures)):
        return None
    said = UNITS[key][figures != "1"]
    named = (tuple(f"{letter}." for letter in key),) if len(key) == 1 and key.isalpha() else ()
    return SpokenWord(text, (tuple(said.split()), *named))


def _bare(chunk: str) -> str:
    """Return a chunk without the quotation marks and punctuation around it."""
    return _trimmed(_unquoted(chunk))


def _unquoted(chunk: str) -> str:
    """Return a chunk without the characters around it that belong to no word; a point may belong to one.

    >>> _unquoted("(here”)."), _unquoted("U.S.")
    ('here', 'U.S.')
    """
    return _OUTSIDE.sub("", _QUOTED_STOP.sub("", _OUTSIDE.sub("", chunk))).strip("_")


def _word(chunk: str, *, shouted: bool) -> SpokenWord | None:
    if chunk == "#":
        return SpokenWord("No.", (("number",),))
    whole = _unquoted(chunk)
    if key_of(whole) in ABBREVIATIONS:
        return SpokenWord(whole, ABBREVIATIONS[key_of(whole)])
    text = _trimmed(whole)
    key = key_of(text)
    if fixed := SIGNS.get(key) or WITHOUT_POINT.get(key):
        return SpokenWord(text, fixed)
    if any(c.isdigit() or c in "½¼¾" for c in key):
        return SpokenWord(text, readings_of_number(key) or (_mixed(key),))
    if not any(c.isalpha() for c in key):
        return None
    return SpokenWord(text, tuple(dict.fromkeys(_readings(text, key, shouted=shouted))))


def _trimmed(text: str) -> str:
    """Return a word without quotation marks, points and hyphens at its ends; those that belong to the word stay."""
    quoted = text.startswith("'") and key_of(text).rstrip("'.") not in CLIPPED and not text[1:2].isdigit()
    if quoted:
        text = text.lstrip("'")
    if not _INITIALS.fullmatch(text):
        text = text.rstrip(".-")
    if text.endswith("'") and (quoted or not _KEEPS_APOSTROPHE.search(text)):
        text = text.rstrip("'").rstrip(".-")
    return text if text[1:2].isdigit() else text.lstrip(".-")


def _readings(text: str, key: str, *, shouted: bool) -> list[Reading]:
    if _INITIALS.fullmatch(text) and ("." in text or "&" in text or not shouted or not set(key) & set("aeiouy")):
        named = _letters(text)
        return [named] if "." in text or "&" in text else [(key,), named]
    if re.search(r"[/&+]", key):
        spoken = re.sub(r"[&+]", " and ", key).replace("/", " ").split()
        return [tuple(f"{part}." if len(part) == 1 else part for part in spoken)]
    plain = key.rstrip("'") if key.endswith("s'") else key
    if _DRAWN_OUT.search(plain):
        return [(plain,), (_DRAWN_OUT.sub(r"\1", plain),), (_DRAWN_OUT.sub(r"\1\1", plain),)]
    return [(plain,)]


def _letters(text: str) -> Reading:
    """Return the names of letters; a possessive or plural s goes with the last one.

    >>> _letters("BBC's"), _letters("U.S."), _letters("DVDs")
    (('b.', 'b.', "c.'s"), ('u.', 's.'), ('d.', 'v.', "d.'s"))
    """
    bare = re.sub(r"(?<=[A-Z.])'?s$", "", text)
    names = ["and" if letter == "&" else f"{letter.lower()}." for letter in bare if letter not in ".'"]
    return tuple(names) if bare == text else (*names[:-1], names[-1] + "'s")


def _mixed(key: str) -> Reading:
    """Return the reading of letters and figures together, such as "b12", "10-year-old" or "24/7"."""
    spoken: list[str] = []
    for part in filter(None, re.split(r"[-/]", key)):
        runs = [part] if readings_of_number(part) else re.findall(r"\d+|[a-z][a-z']*", part)
        for run in runs:
            numbers = readings_of_number(run)
            spoken += numbers[0] if numbers else [run] if len(run) > 1 or run in "ai" else [f"{run}."]
    return tuple(spoken) or (key,)
