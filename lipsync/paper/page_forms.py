"""Sizes of paper, and the forms in which a sheet is printed on them.

Sources: A4 and A3, ISO 216; Letter and Tabloid, ANSI/ASME Y14.1 (sizes A and B). Sizes of letters are chosen for
reading at arm's length: what is needed at every frame (frame numbers, codes) is large, what is looked up now and then
is smaller, and nothing is below 7 points.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import cached_property

from lipsync.paper.marks import MM_PER_POINT

# Page -> width and height in mm, upright.
PAPER = {"A4": (210.0, 297.0), "A3": (297.0, 420.0), "Letter": (215.9, 279.4), "Tabloid": (279.4, 431.8)}
ORIENTATIONS = ("portrait", "landscape")
FORMS = ("standard", "large", "compact")

# The next larger paper of the same family: a studio that has the smaller one probably has it too.
LARGER = {"A4": "A3", "Letter": "Tabloid"}

# What printers leave white at the edges is up to 6.4 mm (a quarter of an inch; common practice).
MARGIN_X_MM = 8.0
MARGIN_Y_MM = 7.0

# The smallest letters on paper.
LEAST_PT = 7.0

# How high letters are from the lowest to the highest, in sizes (DejaVu Sans Condensed): codes, plain letters and
# digits, from g to b; words, from a bracket's foot to a capital's caron.
_CODE_REACH = 0.976
_WORD_REACH = 1.19


@dataclass(frozen=True, slots=True)
class Letters:
    """How large each kind of text on a sheet is, in points."""

    number: float
    code: float
    word: float
    phoneme: float
    feet: float
    timecode: float
    note: float
    label: float

    def scaled(self, by: float) -> Letters:
        """Return all sizes except that of labels multiplied, and rounded down to half a point."""

        def half(size: float) -> float:
            return int(size * by * 2) / 2

        return Letters(
            number=half(self.number),
            code=half(self.code),
            word=half(self.word),
            phoneme=half(self.phoneme),
            feet=half(self.feet),
            timecode=half(self.timecode),
            note=half(self.note),
            label=self.label,
        )

    @property
    def scale(self) -> float:
        """Size of codes relative to the standard form's; signs and pictures grow with it."""
        return self.code / _STANDARD.code

    @property
    def reach_mm(self) -> float:
        """Least height of a row for these letters."""
        return max(self.code * _CODE_REACH, self.word * _WORD_REACH) * MM_PER_POINT


# Each form's sizes, and those that it falls back to where columns are many: what is reached for keeps its size.
_STANDARD = Letters(number=13, code=13, word=11, phoneme=10, feet=8.5, timecode=8, note=8, label=7.5)
_STANDARD_TIGHT = Letters(number=13, code=13, word=9, phoneme=9, feet=7.5, timecode=7, note=7, label=7)
_LARGE = Letters(number=20, code=20, word=15, phoneme=13, feet=13, timecode=12, note=12, label=9)
_LARGE_TIGHT = Letters(number=20, code=20, word=12, phoneme=11, feet=10, timecode=9, note=9, label=8)

# Rows that a page aims at: two seconds of 24 frames; one second if the page is low or its letters are large.
_ROWS, _FEW_ROWS = 48, 24

# Pages lower than this have one second of rows.
_LOW_MM = 250.0

# Feet of pages lower than this have one line less.
_MIDDLING_MM = 290.0

# The foot: sizes of its letters in large forms and others, lines, their distance for each point, and the white above.
_LARGE_FOOT_PT, _FOOT_PT = 10.0, 8.0
_FOOT_LINES, _LOW_FOOT_LINES = 4, 3
_FOOT_LINE, _ABOVE_FOOT_MM = 0.45, 0.2

# A row's height is a whole number of these.
_PITCH_STEPS = 100

# The most banks of the compact form, and the least height of its rows (chosen).
_BANKS = 4
_COMPACT_ROW_MM = 4.55


@dataclass(frozen=True)
class Form:
    """How a page is cut up.

    Attributes:
        width_mm: width of the paper in this orientation.
        height_mm: height of the paper in this orientation.
        rows: frames in one bank of a page.
        banks: how many banks may be side by side, each with rows of its own.
        letters: the form's sizes of letters.
        tight: the least sizes of letters, for many columns.
        heading_mm: height of the heading above the heads of columns.
        band_mm: height of the black band with alerts below the heading (alerts.py).
    """

    width_mm: float
    height_mm: float
    rows: int
    banks: int
    letters: Letters
    tight: Letters
    heading_mm: float
    band_mm: float = 0.0

    heads_mm = 10.4

    @property
    def is_large(self) -> bool:
        """Whether it is the large form."""
        return self.letters.code >= _LARGE.code

    @property
    def foot_pt(self) -> float:
        """Size of the foot's letters: larger in the large form, where the page is high enough."""
        return _LARGE_FOOT_PT if self.is_large and not self.low else _FOOT_PT

    @property
    def foot_line_mm(self) -> float:
        """From one line of the foot to the next."""
        return _FOOT_LINE * self.foot_pt

    @property
    def foot_lines(self) -> int:
        """How many lines the foot has."""
        return _LOW_FOOT_LINES if self.height_mm < _MIDDLING_MM else _FOOT_LINES

    @property
    def foot_mm(self) -> float:
        """Height of the foot below the rows."""
        return self.foot_lines * self.foot_line_mm + _ABOVE_FOOT_MM

    @property
    def low(self) -> bool:
        """Whether the page is too low for two seconds of rows."""
        return self.height_mm < _LOW_MM

    @property
    def top_mm(self) -> float:
        """Where the first row begins."""
        return MARGIN_Y_MM + self.heading_mm + self.band_mm + self.heads_mm

    @property
    def rows_mm(self) -> float:
        """Height of all rows."""
        above_mm = self.heading_mm + self.band_mm + self.heads_mm
        return self.height_mm - 2 * MARGIN_Y_MM - above_mm - self.foot_mm

    @cached_property
    def pitch_mm(self) -> float:
        """Height of a row, a whole number of hundredths."""
        return int(self.rows_mm / self.rows * _PITCH_STEPS) / _PITCH_STEPS

    @property
    def least_row_mm(self) -> float:
        """The least height of a row: that of the form's least letters, and some white in the compact form."""
        return max(self.tight.reach_mm, _COMPACT_ROW_MM if self.banks > 1 else 0.0)

    @property
    def most_rows(self) -> int:
        """The number of rows of the least height for which there is room."""
        return int(self.rows_mm / self.least_row_mm)

    @property
    def wanted_rows(self) -> int:
        """The number of rows that a page aims at: in the compact form as many as there is room for."""
        if self.banks > 1:
            return self.most_rows
        return _FEW_ROWS if self.low or self.is_large else _ROWS

    @property
    def inner_mm(self) -> float:
        """Width between the margins."""
        return self.width_mm - 2 * MARGIN_X_MM

    def with_band(self, band_mm: float) -> Form:
        """Return the form with a band below its heading; with fewer rows if they would become too low."""
        made = replace(self, band_mm=band_mm)
        return replace(made, rows=min(self.rows, made.most_rows))


def form_of(page: str, orientation: str, form: str) -> Form:
    """Return how a page is cut up for a film of 24 frames a second; page_breaks.py fits rows to other rates.

    >>> form_of("A4", "portrait", "standard").rows, form_of("A4", "landscape", "standard").rows
    (48, 24)
    >>> form_of("A4", "landscape", "compact").rows, form_of("A3", "portrait", "compact").rows
    (36, 80)
    """
    width_mm, height_mm = PAPER[page] if orientation == "portrait" else PAPER[page][::-1]
    large = form == "large"
    made = Form(
        width_mm,
        height_mm,
        rows=1,
        banks=_BANKS if form == "compact" else 1,
        letters=_LARGE if large else _STANDARD,
        tight=_LARGE_TIGHT if large else _STANDARD_TIGHT,
        heading_mm=9.0 if height_mm < _LOW_MM else 15.0,
    )
    return replace(made, rows=made.wanted_rows)
