"""Sizes of paper, and the forms in which a sheet is printed on them.

Sources: A4 and A3, ISO 216; Letter and Tabloid, ANSI/ASME Y14.1 (sizes A and B). Sizes of letters are chosen for
reading at arm's length: what is reached for (frame numbers, codes) large, what is looked up smaller, nothing under 7.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

# Page -> width and height in mm, upright.
PAPER = {"A4": (210.0, 297.0), "A3": (297.0, 420.0), "Letter": (215.9, 279.4), "Tabloid": (279.4, 431.8)}
ORIENTATIONS = ("portrait", "landscape")
FORMS = ("standard", "large", "compact")

# What printers leave white at the edges is up to 6.4 mm (a quarter of an inch; common practice).
MARGIN_X_MM = 8.0
MARGIN_Y_MM = 7.0


@dataclass(frozen=True, slots=True)
class Letters:
    """How large each kind of text on a sheet is, in points, and how narrow columns may become for them."""

    number: float
    code: float
    word: float
    phoneme: float
    feet: float
    timecode: float
    note: float
    label: float
    least_word_mm: float
    most_sounds_mm: float

    def scaled(self, by: float) -> Letters:
        """Return all sizes but labels multiplied, cut down to half a point."""

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
            least_word_mm=self.least_word_mm * by,
            most_sounds_mm=self.most_sounds_mm * by,
        )


# Pages lower than this have one second of rows.
_LOW_MM = 250.0

# The least height of a row with 13-point codes and 9.5-point words (chosen).
_COMPACT_ROW_MM = 4.55

# Each form's sizes, and those that it falls back to where columns are many: what is reached for keeps its size.
_STANDARD = Letters(13, 13, 11, 10, 8.5, 8, 8, 7.5, least_word_mm=24, most_sounds_mm=18)
_STANDARD_TIGHT = Letters(13, 13, 9.5, 9, 7.5, 7, 7, 7, least_word_mm=13, most_sounds_mm=12)
_LARGE = Letters(20, 20, 15, 13, 13, 12, 12, 9, least_word_mm=30, most_sounds_mm=26)
_LARGE_TIGHT = Letters(20, 20, 12, 11, 10, 9, 9, 8, least_word_mm=17, most_sounds_mm=15)


@dataclass(frozen=True, slots=True)
class Form:
    """How a page is cut up.

    Attributes:
        width_mm: of the paper, as it lies.
        height_mm: of the paper, as it lies.
        rows: frames in one bank of a page.
        banks: how many banks may stand side by side, each with its own rows.
        letters: the form's sizes of letters.
        tight: the least sizes, for many columns.
        heading_mm: height of the heading above the columns' heads.
        band_mm: height of what is said in white on black below the heading (alerts.py).
    """

    width_mm: float
    height_mm: float
    rows: int
    banks: int
    letters: Letters
    tight: Letters
    heading_mm: float
    band_mm: float = 0.0

    heads_mm = 9.5

    @property
    def foot_pt(self) -> float:
        """Size of the foot's letters: larger in the large form, where the page is high enough."""
        return 10.0 if self.letters.code >= 20 and not self.low else 8.0

    @property
    def foot_line_mm(self) -> float:
        """From one line of the foot to the next."""
        return 0.45 * self.foot_pt

    @property
    def foot_lines(self) -> int:
        """How many lines the foot has."""
        return 3 if self.height_mm < 290 else 4

    def with_band(self, band_mm: float) -> Form:
        """Return the form with a band below its heading; a compact page has fewer rows where they grow too low."""
        made = replace(self, band_mm=band_mm)
        return made if self.banks == 1 else replace(made, rows=min(self.rows, made.compact_rows))

    @property
    def compact_rows(self) -> int:
        """How many rows fit a compact page, in half seconds of 24."""
        return int(self.rows_mm / _COMPACT_ROW_MM) // 12 * 12

    @property
    def foot_mm(self) -> float:
        """Height of the foot below the rows."""
        return self.foot_lines * self.foot_line_mm + 0.2

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

    @property
    def pitch_mm(self) -> float:
        """Height of a row, a whole number of hundredths."""
        return int(self.rows_mm / self.rows * 100) / 100

    @property
    def inner_mm(self) -> float:
        """Width between the margins."""
        return self.width_mm - 2 * MARGIN_X_MM


def form_of(page: str, orientation: str, form: str) -> Form:
    """Return how a page is cut up: two seconds of 24 frames a page, one second where letters would be too small.

    The compact form has as many half seconds as the page is high enough for.

    >>> form_of("A4", "portrait", "standard").rows, form_of("A4", "landscape", "standard").rows
    (48, 24)
    >>> form_of("A4", "landscape", "compact").rows, form_of("A3", "portrait", "compact").rows
    (36, 72)
    """
    width_mm, height_mm = PAPER[page] if orientation == "portrait" else PAPER[page][::-1]
    low, large = height_mm < _LOW_MM, form == "large"
    made = Form(
        width_mm,
        height_mm,
        rows=24 if low or large else 48,
        banks=4 if form == "compact" else 1,
        letters=_LARGE if large else _STANDARD,
        tight=_LARGE_TIGHT if large else _STANDARD_TIGHT,
        heading_mm=10.0 if low else 15.0,
    )
    return made if form != "compact" else replace(made, rows=made.compact_rows)
