"""Text that fits: measured exactly, shortened with an ellipsis, never clipped."""

from __future__ import annotations

import unicodedata
from collections.abc import Iterable, Iterator, Sequence
from functools import lru_cache

from lipsync.errors import InputError, Problem
from lipsync.paper.marks import MM_PER_POINT
from lipsync.paper.page_forms import LEAST_PT
from lipsync.paper.pdf import missing_glyphs, string_width_mm
from lipsync.paper.sheet_words import Words

ELLIPSIS = "…"

# How many letters of a text, and of the letters that are missing, a sentence names.
_SHOWN, _SHOWN_MISSING = 60, 20

# Height of a capital or digit, in sizes of the font (DejaVu Sans Condensed: its H is 1493 of 2048 units high).
CAPITAL = 0.729

# A column made exactly as wide as its widest text has room for it; this is the tolerance for binary rounding.
HAIR_MM = 1e-6


def composed(text: str) -> str:
    """Return a text as it is printed: letters and their diacritics as one, all white space a single blank."""
    return " ".join(unicodedata.normalize("NFC", text).split())


def unprintable(texts: Sequence[tuple[str, str]]) -> Iterator[str]:
    """Yield a sentence for each text with letters that would print as empty boxes; `texts` has (what it is, text).

    >>> list(unprintable([("the name", "Zoë"), ("the name", "漢字")]))[0][:54]
    "the name '漢字' has letters that cannot be printed (漢字);"
    """
    if not missing_glyphs("".join(sorted(set(composed(" ".join(text for _, text in texts)))))):
        return
    for what, text in texts:
        if missing := missing_glyphs(composed(text)):
            told, gone = text[:_SHOWN], missing[:_SHOWN_MISSING]
            yield (
                f"{what} {told!r} has letters that cannot be printed ({gone}); the sheet's font has "
                "Latin, Greek, Cyrillic, Armenian and Georgian letters: write it in one of these"
            )


def check_letters(where: str, texts: Iterable[tuple[str, str]], words: Words) -> None:
    """Raise an InputError for all texts (what it is, text) and words of the studio that cannot be printed."""
    told = (*texts, *((f"[sheet.words] {name},", text) for name, text in words.model_dump().items()))
    if faults := [Problem("", where, text) for text in unprintable(told)]:
        raise InputError(faults)


@lru_cache(maxsize=16384)
def shortened(text: str, width_mm: float, size_pt: float, bold: bool = False) -> str:
    """Return as much of a text as fits a width, with an ellipsis where something is left out.

    >>> shortened("lamp", 20, 10), shortened("Skerrivane", 12, 10), shortened("lamp", 1, 10)
    ('lamp', 'Skerr…', '')
    """
    text = composed(text)
    width_mm += HAIR_MM
    if string_width_mm(text, size_pt, bold) <= width_mm:
        return text
    # Binary search for the longest beginning that fits: width grows with length.
    fits, fails = 0, len(text)
    while fails - fits > 1:
        middle = (fits + fails) // 2
        if string_width_mm(text[:middle].rstrip() + ELLIPSIS, size_pt, bold) <= width_mm:
            fits = middle
        else:
            fails = middle
    return text[:fits].rstrip() + ELLIPSIS if fits else ""


def widest_mm(texts: Iterable[str], size_pt: float, bold: bool = False) -> float:
    """Return the width of the widest text, 0 where there is none."""
    return max((string_width_mm(composed(text), size_pt, bold) for text in set(texts)), default=0.0)


def size_that_fits(text: str, width_mm: float, size_pt: float, bold: bool) -> float:
    """Return the largest size, in steps of half a point down from `size_pt`, at which a text fits a width.

    >>> size_that_fits("REST", 20, 11, True), size_that_fits("WWWWWW", 15, 11, True)
    (11, 7.0)
    """
    wide_mm = string_width_mm(composed(text), size_pt, bold)
    return size_pt if wide_mm <= width_mm else int(size_pt * width_mm / wide_mm * 2) / 2


def sized(text: str, width_mm: float, size_pt: float, bold: bool = False) -> tuple[str, float]:
    """Return a text and the largest size, in steps of half a point, at which it fits; below 7 points it is shortened.

    >>> sized("Skerrivane", 20, 11), sized("Skerrivane", 14, 11), sized("Skerrivane", 10, 11)
    (('Skerrivane', 11), ('Skerrivane', 8.0), ('Skerri…', 7.0))
    """
    text = composed(text)
    size_pt = max(LEAST_PT, size_that_fits(text, width_mm + HAIR_MM, size_pt, bold))
    return shortened(text, width_mm, size_pt, bold), size_pt


def first_that_fits(texts: Sequence[str], width_mm: float, size_pt: float, bold: bool = False) -> tuple[str, float]:
    """Return the first of several texts with the same meaning that fits a width uncut at 7 points or more; its size.

    >>> first_that_fits(("page 3 of 12", "3/12"), 30, 13), first_that_fits(("page 3 of 12", "3/12"), 10, 13)
    (('page 3 of 12', 13), ('3/12', 13))
    """
    for text in texts[:-1]:
        if string_width_mm(composed(text), LEAST_PT, bold) <= width_mm + HAIR_MM:
            return sized(text, width_mm, size_pt, bold)
    return sized(texts[-1], width_mm, size_pt, bold)


def wrapped(text: str, width_mm: float, size_pt: float, lines: int, bold: bool = False) -> tuple[str, ...]:
    """Return a text in at most so many lines; the last line is shortened if the text is too long.

    Lines break between words, and within a word only if it is wider than a line.
    """
    rows: list[str] = []
    words = composed(text).split(" ")
    rest = [part for word in words for part in _parts(word, width_mm, size_pt, bold)] if lines > 1 else words
    at = 0
    while at < len(rest) and len(rows) < lines - 1:
        line = rest[at]
        at += 1
        while at < len(rest) and string_width_mm(f"{line} {rest[at]}", size_pt, bold) <= width_mm:
            line = f"{line} {rest[at]}"
            at += 1
        rows.append(shortened(line, width_mm, size_pt, bold))
    if at < len(rest):
        rows.append(shortened(" ".join(rest[at:]), width_mm, size_pt, bold))
    return tuple(line for line in rows if line)


def _parts(word: str, width_mm: float, size_pt: float, bold: bool) -> Iterator[str]:
    """Yield a word in parts that fit a width, as a single part if it fits; a part has at least one letter."""
    while word and string_width_mm(word, size_pt, bold) > width_mm + HAIR_MM:
        fits = max(1, len(shortened(word, width_mm, size_pt, bold)) - 1)
        yield word[:fits]
        word = word[fits:]
    if word:
        yield word


def baseline_mm(top_mm: float, height_mm: float, size_pt: float) -> float:
    """Return the baseline at which capitals are in the middle of a height."""
    return top_mm + (height_mm + CAPITAL * size_pt * MM_PER_POINT) / 2
