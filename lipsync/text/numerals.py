"""Turns figures into spoken words.

Whole numbers, years, ordinals, decimals, times, money, measures, ranges, fractions.

In: a word of the text that holds figures, in small letters. Out: its readings, each a tuple of spoken words, the
likeliest first; none if it is no number. Where English has several ways ("a hundred and one" or "a hundred one",
"nine oh five" or "nine five"), all are returned, and the recording decides.

Source for the words of whole numbers, ordinals and years: the library num2words. That people say years in pairs and
name the figures of codes one by one is common practice.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable

from lipsync.text.abbreviations import UNITS, Reading

# Sign -> singular and plural of the large unit, singular and plural of the small one.
MONEY: dict[str, tuple[str, str, str, str]] = {
    "£": ("pound", "pounds", "penny", "pence"),
    "$": ("dollar", "dollars", "cent", "cents"),
    "€": ("euro", "euros", "cent", "cents"),
}
MAGNITUDES = {"k": "thousand", "m": "million", "bn": "billion"}
FRACTIONS: dict[str, tuple[Reading, ...]] = {
    "½": (("a", "half"), ("half",), ("one", "half")),
    "¼": (("a", "quarter"), ("quarter",), ("one", "quarter")),
    "¾": (("three", "quarters"),),
    "1/2": (("a", "half"), ("half",), ("one", "half")),
    "1/4": (("a", "quarter"), ("quarter",), ("one", "quarter")),
    "3/4": (("three", "quarters"),),
    "1/3": (("a", "third"), ("one", "third")),
    "2/3": (("two", "thirds"),),
}
LONGEST = 15  # figures; longer numbers are said figure by figure (chosen)
_YEARS = range(1010, 2100)  # numbers that are read as years first (chosen)

_Say = Callable[[re.Match[str]], list[Reading]]


def readings_of_number(text: str) -> tuple[Reading, ...]:
    """Return the readings of a number; none if it is no number.

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


def _said(number: int, to: str = "cardinal") -> str:
    """Return a number in words; the library loads all its languages, so it waits for a text that holds figures."""
    from num2words import num2words

    return str(num2words(number, to=to))


def _words(said: str) -> Reading:
    return tuple(re.sub(r"[,-]", " ", said).split())


def _integer(figures: str) -> int:
    return int(figures.replace(",", ""))


def _cardinal(number: int) -> list[Reading]:
    """Return a number the British way, the American way (without "and"), and with "a" for "one" before hundred."""
    words = _words(_said(number))
    with_a = [("a", *words[1:])] if words[:1] == ("one",) and words[1:2] in (("hundred",), ("thousand",)) else []
    return [words, tuple(word for word in words if word != "and"), *with_a]


def _figures(figures: str) -> list[Reading]:
    """Return a number figure by figure, 0 as "oh" and as "zero"."""
    names = tuple(_said(int(figure)) for figure in figures if figure.isdigit())
    return [tuple("oh" if name == "zero" else name for name in names), names]


def _whole(figures: str) -> list[Reading]:
    plain = figures.replace(",", "")
    if len(plain) > LONGEST or (plain.startswith("0") and len(plain) > 1):
        return _figures(plain)
    number = int(plain)
    if "," not in figures and number in _YEARS:
        year = _words(_said(number, to="year"))
        pairs = (*_words(_said(number // 100)), *_words(_said(number % 100))) if number % 100 > 9 else year
        shortened = tuple(word for word in year if word != "and")
        return [year, shortened, pairs, *_cardinal(number)]
    return [*_cardinal(number), *(_figures(plain) if "," not in figures and len(plain) > 2 else [])]


def _number(figures: str) -> list[Reading]:
    """Return the readings of a whole number or a decimal one."""
    whole, point, behind = figures.partition(".")
    if not point:
        return _whole(whole)
    before = _cardinal(_integer(whole)) if whole else [()]
    return [(*b, "point", *a) for b in before for a in _figures(behind)[::-1]]


def _time(found: re.Match[str]) -> list[Reading]:
    hours, minute = _words(_said(int(found[1]))), int(found[2] or 0)
    half = tuple(f"{letter}." for letter in found[3] or "" if letter.isalpha())
    if minute > 9:
        return [(*hours, *_words(_said(minute)), *half)]
    if minute:
        return [(*hours, "oh", _said(minute), *half), (*hours, _said(minute), *half)]
    return [(*hours, *half)] if half else [(*hours, "o'clock"), hours, (*hours, "hundred")]


def _money(found: re.Match[str]) -> list[Reading]:
    sign, figures, behind, magnitude = found[1], found[2], found[3], found[4]
    one, more, small_one, small = MONEY[sign]
    if magnitude or (behind and len(behind) != 2):
        size = (MAGNITUDES[magnitude],) if magnitude else ()
        return [(*said, *size, more) for said in _number(f"{figures}.{behind}" if behind else figures)]
    amounts = _cardinal(_integer(figures))
    whole = [(*said, one if _integer(figures) == 1 else more) for said in amounts]
    if not behind or int(behind) == 0:
        return whole
    few = _words(_said(int(behind)))
    coins = (*few, small_one if int(behind) == 1 else small)
    if _integer(figures) == 0:
        return [coins]
    return [(*whole[0], *few), (*whole[0], "and", *coins), (*whole[0], *coins), (*amounts[0], *few)]


def _measure(found: re.Match[str]) -> list[Reading]:
    unit = UNITS[found[2]][found[1] != "1"].split()
    return [(*said, *unit) for said in _number(found[1])]


def _decade(found: re.Match[str]) -> list[Reading]:
    century = _words(_said(int(found[1]))) if found[1] else ()
    tens = _said(int(found[2]) * 10) if found[2] != "0" else "hundred"
    return [(*century, tens[:-1] + "ies" if tens.endswith("y") else tens + "s")]


def _range(found: re.Match[str]) -> list[Reading]:
    first, last = _number(found[1])[0], _number(found[2])[0]
    return [(*first, "to", *last), (*first, *last)]


_N = r"(\d{1,3}(?:,\d{3})+(?:\.\d+)?|\d+(?:\.\d+)?|\.\d+)"
_WHOLE = r"(\d{1,3}(?:,\d{3})+|\d+)"
_HALF_DAY = r"(a\.?m\.?|p\.?m\.?)"
# Pattern of a whole word -> function that returns its readings; the first that fits is used.
_FORMS: tuple[tuple[re.Pattern[str], _Say], ...] = tuple(
    (re.compile(pattern), say)
    for pattern, say in (
        (_N, lambda found: _number(found[1])),
        (rf"-{_N}", lambda found: [("minus", *said) for said in _number(found[1])]),
        (rf"(\d{{1,2}})(?:[:.]([0-5]\d))?{_HALF_DAY}", _time),
        (r"([01]?\d|2[0-4]):([0-5]\d)()", _time),
        (rf"([{''.join(MONEY)}]){_WHOLE}(?:\.(\d+))?({'|'.join(MAGNITUDES)})?", _money),
        (rf"{_N}({'|'.join(sorted(UNITS, key=len, reverse=True))})", _measure),
        (rf"#{_N}", lambda found: [("number", *said) for said in _number(found[1])]),
        (rf"{_WHOLE}(?:st|nd|rd|th)", lambda found: [_words(_said(_integer(found[1]), to="ordinal"))]),
        (r"'?(\d\d)?(\d)0'?s", _decade),
        (rf"{_N}-{_N}", _range),
        (r"([½¼¾]|[123]/[234])", lambda found: list(FRACTIONS.get(found[1], ()))),
        (r"(\d+)([½¼¾])", lambda found: [(*_whole(found[1])[0], "and", *part) for part in FRACTIONS[found[2]]]),
    )
)
