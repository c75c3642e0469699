"""What must be known before anything on a page is used: a black band under its heading, white letters in it.

In: sentences and a form of page. Out: the form with room for the band, and the band's marks. It is black and white,
so that it is as striking on a photocopy. The band never makes rows lower than their letters need. Sentences that have
no room in it go to the last page of the sheet, and the band says how many they are.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from lipsync.paper.lettering import composed, wrapped
from lipsync.paper.marks import Box, Mark, Text
from lipsync.paper.page_forms import MARGIN_X_MM, Form
from lipsync.paper.pdf import string_width_mm
from lipsync.paper.sheet_words import Words

ALERT_PT = 11.0
_LINE_MM, _PAD_MM, _GAP_MM, _INDENT_MM, _BASE_MM = 4.9, 1.0, 1.4, 2.5, 3.7

# The fewest and the most lines that a band may take (chosen).
_FEWEST_LINES, _MOST_LINES = 2, 4

# More lines than any sentence takes: the sentence is printed in full.
_IN_FULL = 20


def alerted(form: Form, alerts: Sequence[str], words: Words) -> Form:
    """Return a form with room for a band below its heading; the same form if there are no alerts."""
    spare_mm = form.rows_mm - min(form.wanted_rows, form.most_rows) * form.least_row_mm - band_height_mm(1)
    most = max(_FEWEST_LINES, min(_MOST_LINES, 1 + int(spare_mm / _LINE_MM)))
    lines = fitted(alerts, form.inner_mm, most, words.more)
    return form.with_band(band_height_mm(len(lines)))


def band_height_mm(lines: int) -> float:
    """Return the height of a band with so many lines, with the white below it."""
    return lines * _LINE_MM + 2 * _PAD_MM + _GAP_MM if lines else 0.0


def band_lines(form: Form, alerts: Sequence[str], words: Words) -> tuple[str, ...]:
    """Return the lines of the band, on a page that has room for a band."""
    lines = round((form.band_mm - band_height_mm(1)) / _LINE_MM) + 1
    return fitted(alerts, form.inner_mm, lines, words.more) if form.band_mm else ()


def all_lines(alerts: Sequence[str], width_mm: float) -> tuple[str, ...]:
    """Return sentences in full, in lines as wide as a band's."""
    width_mm -= 2 * _INDENT_MM
    return tuple(line for alert in alerts for line in wrapped(alert, width_mm, ALERT_PT, _IN_FULL, bold=True))


def fitted(alerts: Sequence[str], width_mm: float, most: int, more: str) -> tuple[str, ...]:
    """Return sentences in at most so many lines; the last line says how many had no room, in the words of `more`.

    >>> fitted(["Line 040-a is missing.", "Line 040-b too.", "And 040-c."], 190, 2, "{count} more")
    ('Line 040-a is missing.', '2 more')
    """
    each = [all_lines([alert], width_mm) for alert in alerts]
    if sum(map(len, each)) <= most:
        return all_lines(alerts, width_mm)
    # The beginning of the first sentence is always printed.
    shown = list(wrapped(alerts[0], width_mm - 2 * _INDENT_MM, ALERT_PT, most - 1, bold=True))
    left_over = each[1:] if tuple(shown) == each[0] else each
    while left_over is not each and len(shown) + len(left_over[0]) < most:
        shown += left_over[0]
        left_over = left_over[1:]
    told = more.format(count=len(left_over))
    if string_width_mm(composed(told), ALERT_PT, True) > width_mm - 2 * _INDENT_MM:
        told = f"+ {len(left_over)}"
    return (*shown, told)


def band(lines: Sequence[str], width_mm: float, left_mm: float, top_mm: float) -> Iterator[Mark]:
    """Return a band's marks; `top_mm` is its upper edge."""
    if not lines:
        return
    yield Box(left_mm, top_mm, width_mm, band_height_mm(len(lines)) - _GAP_MM, fill=0.0)
    for place, line in enumerate(lines):
        y_mm = top_mm + _PAD_MM + place * _LINE_MM + _BASE_MM
        yield Text(left_mm + _INDENT_MM, y_mm, composed(line), ALERT_PT, bold=True, grey=1.0)


def band_on(form: Form, alerts: Sequence[str], words: Words, top_mm: float) -> Iterator[Mark]:
    """Return the band of a page of this form."""
    yield from band(band_lines(form, alerts, words), form.inner_mm, MARGIN_X_MM, top_mm)
