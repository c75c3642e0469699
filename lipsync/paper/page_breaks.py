"""Which frames are on which page: pages break where a second begins, at every rate.

In: a number of frames, a rate and a form. Out: ranges of frames, one for each page. A page has the number of whole
seconds that comes nearest to the rows that its form aims at. If the last page would be less than half full, its
frames are added to the page before, provided that rows stay high enough for their letters; if not, the two pages
share their seconds as evenly as possible, with rows of the same height. The pages before these two do not change when
a shot grows, so what was written on them by hand stays valid. A second with more frames than a page has room for
takes several pages, as equal as possible, and the next second begins a new page.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from fractions import Fraction
from math import ceil

from lipsync.paper.page_forms import Form
from lipsync.timing import nominal_rate

# Parts of a page's rows: at most so many are added to a page (chosen: rows become lower, and the page a little
# fuller); and a last page with fewer is joined to the page before.
_ADDED_PART = 0.5


@dataclass(frozen=True, slots=True)
class PageRange:
    """The frames of a page, from the first to before `end`, and how many rows each of its banks has."""

    first: int
    end: int
    rows: int


def rows_each(form: Form, rate: Fraction, banks: int = 1) -> int:
    """Return how many rows a bank has, so that a full page has whole seconds, or an equal part of a second.

    >>> from lipsync.paper.page_forms import form_of
    >>> upright = form_of("A4", "portrait", "standard")
    >>> [rows_each(upright, Fraction(rate)) for rate in (12, 24, 25, 30, 48, 60)]
    [48, 48, 50, 30, 48, 30]
    """
    second, most = nominal_rate(rate), form.most_rows
    if banks > 1:
        whole = [rows for rows in range(most, most // 2, -1) if banks * rows % second == 0]
        return whole[0] if whole else most
    if second <= most:
        return second * max(1, min(most // second, round(form.wanted_rows / second)))
    return ceil(second / ceil(second / most))


def page_ranges(frames: int, form: Form, rate: Fraction, banks: int = 1) -> tuple[PageRange, ...]:
    """Return the pages of a shot, in order; together they have each frame once."""
    second = nominal_rate(rate)
    found = list(_whole(frames, rows_each(form, rate, banks), second, banks))
    if len(found) > 1:
        before, last = found[-2:]
        together = last.end - before.first
        most = min(banks * form.most_rows, int((1 + _ADDED_PART) * banks * before.rows))
        if together <= most:
            found[-2:] = [PageRange(before.first, last.end, ceil(together / banks))]
        elif last.end - last.first < _ADDED_PART * banks * before.rows:
            found[-2:] = _shared(before, last, second, banks)
    return tuple(found)


def _shared(before: PageRange, last: PageRange, second: int, banks: int) -> list[PageRange]:
    """Return two pages that share their frames as evenly as whole seconds allow; else the pages as they are."""
    starts = range((before.first // second + 1) * second, last.first, second)
    middle = (before.first + last.end) / 2
    at = min(starts, key=lambda start: abs(start - middle), default=last.first)
    if at == last.first:
        return [before, last]
    rows = ceil(max(at - before.first, last.end - at) / banks)
    return [PageRange(before.first, at, rows), PageRange(at, last.end, rows)]


def _whole(frames: int, rows: int, second: int, banks: int) -> Iterator[PageRange]:
    """Yield pages of `rows` rows; a second that is longer than a page begins a new page."""
    first = 0
    while first < frames:
        end = first + rows * banks
        if second > rows * banks:
            end = min(end, (first // second + 1) * second)
        yield PageRange(first, min(end, frames), rows)
        first = end
