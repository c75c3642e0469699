"""Turns a line's text into what is spoken: words with their readings, and cues.

In: the text as the scriptwriter wrote it. Out: a tuple of `SpokenWord` and `CueToken`, in order. One word of the text
stays one word, however many spoken words it takes ("42"), so that what is printed is the author's own.

Conventions: a reading is a tuple of keys for the dictionary: small letters, plain apostrophes, no diacritics; a
letter that is named has a point after it, as in the CMU dictionary ("b."). A word can have several readings; the
sound decides between those that the dictionary knows. A cue stands in square brackets: [breath]. Stage directions
in round brackets are not foreseen: everything outside square brackets is spoken.
"""

from __future__ import annotations

import re
import unicodedata
from dataclasses import dataclass

from lipsync.errors import LineError
from lipsync.listen.numerals import readings_of_number

Reading = tuple[str, ...]


@dataclass(frozen=True, slots=True)
class SpokenWord:
    """One word of the text.

    Attributes:
        text: as written, without the quotes and stops around it.
        readings: the ways to say it, the likeliest first.
    """

    text: str
    readings: tuple[Reading, ...]

    def __post_init__(self) -> None:
        if not self.text or not self.readings or not all(self.readings):
            raise ValueError(f"word {self.text!r} needs a text and at least one reading that is not empty")

    @property
    def forms(self) -> Reading:
        """The likeliest reading."""
        return self.readings[0]


@dataclass(frozen=True, slots=True)
class CueToken:
    """A sound that is no word."""

    name: str


Token = SpokenWord | CueToken

# Written with a point that is no full stop -> readings.
ABBREVIATIONS: dict[str, tuple[Reading, ...]] = {
    "mr.": (("mister",),),
    "mrs.": (("missus",),),
    "ms.": (("ms.",),),
    "messrs.": (("messrs.",),),
    "dr.": (("doctor",), ("drive",)),
    "st.": (("saint",), ("street",)),
    "prof.": (("professor",),),
    "rev.": (("reverend",),),
    "capt.": (("captain",),),
    "cpt.": (("captain",),),
    "lt.": (("lieutenant",),),
    "col.": (("colonel",),),
    "cmdr.": (("commander",),),
    "maj.": (("major",),),
    "sgt.": (("sergeant",),),
    "gen.": (("general",),),
    "adm.": (("admiral",),),
    "gov.": (("governor",),),
    "sen.": (("senator",),),
    "jr.": (("junior",),),
    "sr.": (("senior",),),
    "ave.": (("avenue",),),
    "rd.": (("road",),),
    "blvd.": (("boulevard",),),
    "mt.": (("mount",), ("mountain",)),
    "ft.": (("feet",), ("foot",), ("fort",)),
    "vs.": (("versus",),),
    "etc.": (("et", "cetera"), ("etcetera",)),
    "approx.": (("approximately",),),
    "dept.": (("department",),),
    "i.e.": (("i.", "e."), ("that", "is")),
    "e.g.": (("e.", "g."), ("for", "example")),
    "&c.": (("et", "cetera"),),
}
# Written without a point as well, in British English.
_POINTLESS = {key[:-1]: value for key, value in ABBREVIATIONS.items() if key in ("mr.", "mrs.", "ms.", "dr.", "st.")}

SIGNS: dict[str, tuple[Reading, ...]] = {
    "&": (("and",),),
    "+": (("plus",), ("and",)),
    "=": (("equals",),),
    "@": (("at",),),
    "%": (("percent",),),
}

# Clipped words that begin with an apostrophe, which is then no quote.
CLIPPED = frozenset(
    [
        "'bout",
        "'cause",
        "'course",
        "'em",
        "'til",
        "'tis",
        "'twas",
        "'twere",
        "'round",
        "'n",
        "'kay",
        "'ere",
        "'im",
        "'er",
        "'e",
        "'ave",
        "'ello",
    ]
)

_LOOKALIKES = str.maketrans(
    {
        "’": "'",
        "‘": "'",
        "ʼ": "'",
        "`": "'",
        "´": "'",
        "′": "'",
        "‐": "-",
        "‑": "-",
        "−": "-",
        "…": " ",
        "\u00ad": None,
    }
)
_LETTERS = str.maketrans(
    {"æ": "ae", "œ": "oe", "ø": "o", "ß": "ss", "ł": "l", "đ": "d", "þ": "th", "ð": "th", "ı": "i"}
)
_CUE = re.compile(r"\[([^\[\]]*)\]")
_RANGE = re.compile(r"(?<=\d)[–-](?=[£$€]?\d)")
_DASH = re.compile(r"[–—―⸺]|--+")
_OUTSIDE = re.compile(r"^[^\w£$€#&+=@%.'-]+|[^\w%°'&+=@.-]+$")
_INITIALS = re.compile(r"(?:[A-Za-z]\.){2,}[A-Za-z]?(?:'?s)?|[A-Z]{2,5}(?:'?s)?")
_DRAWN_OUT = re.compile(r"([a-z])\1{2,}")


def tokens_of(text: str, file: str = "", place: str = "text") -> tuple[Token, ...]:
    """Return the words and cues of a line's text; `file` and `place` are for the error.

    Raises:
        LineError: if nothing is to be heard, or a bracket is left open.

    >>> tokens_of("[breath] Nooo!")
    (CueToken(name='breath'), SpokenWord(text='Nooo', readings=(('nooo',), ('no',), ('noo',))))
    """
    found: list[Token] = []
    for index, piece in enumerate(_CUE.split(text)):
        if index % 2:
            name = " ".join(piece.split()).lower()
            if not name:
                raise LineError.one(file, place, "holds an empty cue []; write its name, such as [breath]")
            found.append(CueToken(name))
        elif "[" in piece or "]" in piece:
            raise LineError.one(
                file, place, f"has a bracket without its other half in {piece.strip()!r}; close the cue"
            )
        else:
            found += _words(piece)
    if not found:
        raise LineError.one(file, place, "holds no word and no cue; write what is said, or a cue such as [breath]")
    return tuple(found)


def key_of(text: str) -> str:
    """Return the dictionary's key of a word: small letters, plain apostrophes, no diacritics.

    >>> key_of("Café’s")
    "cafe's"
    """
    small = text.translate(_LOOKALIKES).lower().translate(_LETTERS)
    return "".join(c for c in unicodedata.normalize("NFD", small) if not unicodedata.combining(c))


def _words(piece: str) -> list[SpokenWord]:
    plain = unicodedata.normalize("NFC", piece).translate(_LOOKALIKES)
    chunks = _DASH.sub(" ", _RANGE.sub("-", plain)).split()
    return [word for chunk in chunks if (word := _word(chunk))]


def _word(chunk: str) -> SpokenWord | None:
    text = _OUTSIDE.sub("", chunk).strip("_")
    key = key_of(text)
    if key in ABBREVIATIONS:
        return SpokenWord(text, ABBREVIATIONS[key])
    text = _trimmed(text)
    key = key_of(text)
    if not key:
        return None
    if key in SIGNS or key in _POINTLESS:
        return SpokenWord(text, SIGNS.get(key) or _POINTLESS[key])
    if any(c.isdigit() or c in "£$€½¼¾" for c in text):
        return SpokenWord(text, readings_of_number(key) or _mixed(key))
    if not any(c.isalpha() for c in key):
        return None
    return SpokenWord(text, tuple(dict.fromkeys(_readings(text, key))))


def _trimmed(text: str) -> str:
    """Take away quotes, stops and hyphens at the ends, but leave apostrophes and points that belong to the word."""
    text = text.strip("-")
    opened = text.startswith("'")
    while opened and key_of(text).rstrip("'.-") not in CLIPPED and text.startswith("'"):
        text = text[1:]
    clipped = text.startswith("'")
    if not _INITIALS.fullmatch(text):
        text = text.rstrip(".-")
    if text.endswith("'") and ((opened and not clipped) or not re.search(r"(?i)(?:in|s|o|an|th|wi)'$", text)):
        text = text.rstrip("'")
    return text.lstrip(".-").rstrip("-")


def _readings(text: str, key: str) -> list[Reading]:
    if _INITIALS.fullmatch(text):
        return [*([] if "." in text else [(key,)]), _letters(key)]
    if "/" in key:
        return [tuple(part for part in re.split(r"[/\W]+", key) if part)]
    whole = key.rstrip("'") if key.endswith("s'") else key
    if _DRAWN_OUT.search(key):
        return [(whole,), (_DRAWN_OUT.sub(r"\1", whole),), (_DRAWN_OUT.sub(r"\1\1", whole),)]
    return [(whole,)]


def _letters(key: str) -> Reading:
    """Return the names of letters, a plural or possessive s with the last.

    >>> _letters("bbc's"), _letters("u.s.")
    (('b.', 'b.', "c.'s"), ('u.', 's.'))
    """
    plural = re.fullmatch(r"(.+?)\.?('s|(?<=[^s.])s)", key)
    bare = plural[1] if plural and (plural[2] == "'s" or len(plural[1]) > 1) else key
    names = [f"{letter}." for letter in bare if letter.isalpha()]
    if bare != key:
        names[-1] += "'s"
    return tuple(names)


def _mixed(key: str) -> tuple[Reading, ...]:
    """Return the reading of letters and digits together, such as "b12", "10-year-old" or "24/7"."""
    spoken: list[str] = []
    for run in re.findall(r"\d[\d,.]*(?:st|nd|rd|th)\b|\d+(?:[.,]\d+)*|[a-z][a-z']*", key):
        numbers = readings_of_number(run)
        spoken += numbers[0] if numbers else (f"{run}.",) if len(run) == 1 else (run,)
    return (tuple(spoken),) if spoken else ((key,),)
