"""Says numbers: figures, years, ordinals, decimals, times, money, percentages, ranges.

In: a word of the text that holds figures, in small letters. Out: its readings, each a tuple of spoken words, the
likeliest first; none if it is no number. Where English has several ways ("a hundred and one" or "a hundred one",
"nine oh five" or "nine five") all are given, and the sound decides.

Source for the words of whole numbers, ordinals, years and decimals: the library num2words.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable

from num2words import num2words

Reading = tuple[str, ...]

# Sign -> one and many of the large unit, one and many of the small one.
MONEY: dict[str, tuple[str, str, str, str]] = {
    "£": ("pound", "pounds", "penny", "pence"),
    "$": ("dollar", "dollars", "cent", "cents"),
    "€": ("euro", "euros", "cent", "cents"),
}
MAGNITUDES = {"k": "thousand", "m": "million", "bn": "billion"}
FRACTIONS: dict[str, tuple[Reading, ...]] = {
    "½": (("half",), ("a", "half"), ("one", "half")),
    "¼": (("quarter",), ("a", "quarter"), ("one", "quarter")),
    "¾": (("three", "quarters"),),
    "1/2": (("half",), ("a", "half"), ("one", "half")),
    "1/4": (("quarter",), ("a", "quarter"), ("one", "quarter")),
    "3/4": (("three", "quarters"),),
    "1/3": (("a", "third"), ("one", "third")),
    "2/3": (("two", "thirds"),),
}
_LONGEST = 15  # digits; longer ones are said one by one


def readings_of_number(text: str) -> tuple[Reading, ...]:
    """Return the ways to say a number, or none.

    >>> readings_of_number("1984")[0], readings_of_number("£5.50")[0]
    (('nineteen', 'eighty', 'four'), ('five', 'pounds', 'fifty'))
    >>> readings_of_number("lamp")
    ()
    """
    for pattern, say in _FORMS:
        if found := pattern.fullmatch(text):
            return _unique(say(found))
    return ()


def _unique(readings: Iterable[Reading]) -> tuple[Reading, ...]:
    return tuple(dict.fromkeys(reading for reading in readings if reading))


def _split(said: str) -> Reading:
    return tuple(re.sub(r"[,-]", " ", said).split())


def _both(said: str) -> list[Reading]:
    """Return a number with and without its "and": the British way and the American."""
    words = _split(said)
    without = tuple(word for word in words if word != "and")
    hundred = [("a", *words[1:])] if words[:1] == ("one",) and words[1:2] in (("hundred",), ("thousand",)) else []
    return [words, without, *hundred]


def _digits(figures: str) -> list[Reading]:
    named = tuple(num2words(int(figure)) for figure in figures if figure.isdigit())
    return [tuple("oh" if name == "zero" else name for name in named), named]


def _whole(figures: str) -> list[Reading]:
    plain = figures.replace(",", "")
    if len(plain) > _LONGEST or (plain.startswith("0") and len(plain) > 1):
        return _digits(plain)
    number = int(plain)
    if "," not in figures and len(plain) == 4 and 1100 <= number <= 2099:
        return [*_both(num2words(number, to="year")), *_years(number), *_both(num2words(number))]
    return [*_both(num2words(number)), *([*_digits(plain)] if len(plain) in (3, 4) else [])]


def _years(number: int) -> list[Reading]:
    """Return "twenty fifteen" and the like for the years of this century."""
    return [(*_split(num2words(number // 100)), *_split(num2words(number % 100)))] if number > 2009 else []


def _number(figures: str) -> list[Reading]:
    """Return the readings of a whole number or a decimal one."""
    whole, point, behind = figures.partition(".")
    if not point:
        return _whole(whole)
    after = [_digits(behind)[1], _digits(behind)[0]]
    before = _both(num2words(int(whole.replace(",", "")))) if whole else [("",)]
    return [tuple(word for word in (*b, "point", *a) if word) for b in before for a in after]


def _time(found: re.Match[str]) -> list[Reading]:
    hour, minute = int(found[1]), int(found[2])
    half = [tuple(f"{letter}." for letter in found[3] if letter.isalpha())] if found[3] else [()]
    hours = _split(num2words(hour))
    if minute == 0:
        said = [(*hours, "o'clock"), hours, (*hours, "hundred")] if not found[3] else [hours]
    elif minute < 10:
        said = [(*hours, "oh", num2words(minute)), (*hours, num2words(minute))]
    else:
        said = [(*hours, *_split(num2words(minute)))]
    return [(*clock, *letters) for clock in said for letters in half]


def _money(found: re.Match[str]) -> list[Reading]:
    one, many, small_one, small = MONEY[found[1]]
    figures, behind, magnitude = found[2].replace(",", ""), found[3], found[4]
    if magnitude or (behind and len(behind) != 2):
        words = [MAGNITUDES[magnitude]] if magnitude else []
        return [(*said, *words, many) for said in _number(f"{figures}.{behind}" if behind else found[2])]
    unit = one if int(figures) == 1 else many
    pounds = [(*said, unit) for said in _both(num2words(int(figures)))]
    if not behind or int(behind) == 0:
        return pounds
    few = _split(num2words(int(behind)))
    coins = (*few, small_one if int(behind) == 1 else small)
    if int(figures) == 0:
        return [coins]
    return [(*pounds[0], *few), (*pounds[0], "and", *coins), (*pounds[0], *coins), (*pounds[0][:-1], *few)]


def _decade(found: re.Match[str]) -> list[Reading]:
    century, tens = found[1] or "", int(found[2]) * 10
    before = _split(num2words(int(century))) if century else ()
    name = num2words(tens) if tens else "hundred"
    return [(*before, name[:-1] + "ies" if name.endswith("y") else name + "s")]


def _ordinal(found: re.Match[str]) -> list[Reading]:
    return _both(num2words(int(found[1].replace(",", "")), to="ordinal"))


def _range(found: re.Match[str]) -> list[Reading]:
    first, last = _number(found[1])[0], _number(found[2])[0]
    return [(*first, "to", *last), (*first, *last)]


def _form(pattern: str, say: Callable[[re.Match[str]], list[Reading]]) -> tuple[re.Pattern[str], _Sayer]:
    return re.compile(pattern), say


_Sayer = Callable[[re.Match[str]], list[Reading]]
_N = r"(\d{1,3}(?:,\d{3})+(?:\.\d+)?|\d+(?:\.\d+)?|\.\d+)"
# The first that fits the whole word says it.
_FORMS: tuple[tuple[re.Pattern[str], _Sayer], ...] = (
    _form(_N, lambda m: _number(m[1])),
    _form(rf"-{_N}", lambda m: [("minus", *said) for said in _number(m[1])]),
    _form(r"(\d{1,2})[:.]([0-5]\d)\s?(a\.?m\.?|p\.?m\.?)", _time),
    _form(r"([01]?\d|2[0-4]):([0-5]\d)()", _time),
    _form(r"(\d{1,2})(a\.?m\.?|p\.?m\.?)", lambda m: [(*_split(num2words(int(m[1]))), f"{m[2][0]}.", "m.")]),
    _form(r"([£$€])(\d{1,3}(?:,\d{3})+|\d+)(?:\.(\d+))?(k|m|bn)?", _money),
    _form(rf"{_N}p", lambda m: [(*s, "penny" if m[1] == "1" else "pence") for s in _number(m[1])]),
    _form(rf"{_N}(?:%|percent)", lambda m: [(*said, "percent") for said in _number(m[1])]),
    _form(rf"{_N}°", lambda m: [(*said, "degrees") for said in _number(m[1])]),
    _form(rf"#{_N}", lambda m: [("number", *said) for said in _number(m[1])]),
    _form(r"(\d{1,3}(?:,\d{3})+|\d+)(?:st|nd|rd|th)", _ordinal),
    _form(r"'?(\d\d)?(\d)0'?s", _decade),
    _form(rf"{_N}-{_N}", _range),
    _form(r"([½¼¾]|[123]/[234])", lambda m: list(FRACTIONS.get(m[1], ()))),
    _form(r"(\d+)([½¼¾])", lambda m: [(*_whole(m[1])[0], "and", *part) for part in FRACTIONS[m[2]]]),
)
