"""Sheets of labels by their geometry: the usual ones in a table, and a studio's own.

    [labels]
    drawers = "70x37"          # the size for drawers; also `boxes` and `backs`
    [[labels.sheet]]           # a sheet that is not among the usual ones
    name = "tin"
    page = "A4"
    columns = 2
    rows = 4
    width_mm = 90
    height_mm = 60
    across_mm = 95             # from one label's left edge to the next; left out: they touch
    down_mm = 65
    left_mm = 12.5             # of the first label; left out: all of them stand in the middle of the page
    top_mm = 21

A size is named by its width and height in mm. The values of the usual sizes are common practice: those of A4 divide
the paper evenly (ISO 216) or are in mm, those of Letter are in inches. Each was compared with the open templates of
Debian's package glabels-data 3.4.1, which have it within half a millimetre. Labels of the same size can still be
placed differently on a sheet, so a first print goes on plain paper and is held against the sheet.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Annotated, Literal

from pydantic import Field, StringConstraints

from lipsync.paper.page_forms import PAPER
from lipsync.tomlfile import Table

# A smaller label has no room for a code: five letters of 7 points, and 1 mm white around them (chosen).
LEAST_WIDTH_MM, LEAST_HEIGHT_MM = 12.0, 5.0

# A difference of no more than this is rounding, not a fault.
_HAIR_MM = 0.05

_INCH_MM = 25.4

Use = Literal["drawers", "boxes", "backs"]
USES: tuple[Use, ...] = ("drawers", "boxes", "backs")


@dataclass(frozen=True, slots=True)
class LabelGrid:
    """Where the labels of a sheet lie, in mm from the page's top left corner.

    Attributes:
        name: the name of the size.
        page: the paper.
        columns: labels side by side.
        rows: labels one below the other.
        width_mm: width of a label.
        height_mm: height of a label.
        across_mm: from one label's left edge to that of the next.
        down_mm: from one label's upper edge to that of the next.
        left_mm: left edge of the first label.
        top_mm: upper edge of the first label.
    """

    name: str
    page: str
    columns: int
    rows: int
    width_mm: float
    height_mm: float
    across_mm: float
    down_mm: float
    left_mm: float
    top_mm: float

    @property
    def count(self) -> int:
        """How many labels a sheet has."""
        return self.columns * self.rows

    @property
    def right_mm(self) -> float:
        """The right edge of the last column."""
        return self.left_mm + (self.columns - 1) * self.across_mm + self.width_mm

    @property
    def bottom_mm(self) -> float:
        """The lower edge of the last row."""
        return self.top_mm + (self.rows - 1) * self.down_mm + self.height_mm

    def corner_mm(self, place: int) -> tuple[float, float]:
        """Return the top left corner of a label; they are counted from 0, row by row."""
        down, across = divmod(place, self.columns)
        return self.left_mm + across * self.across_mm, self.top_mm + down * self.down_mm


class OwnLabelSheet(Table):
    """A sheet of labels that is not among the usual ones."""

    name: Annotated[str, StringConstraints(pattern=r"^[A-Za-z0-9][A-Za-z0-9_.-]{0,39}$")]
    page: Literal["A4", "A3", "Letter", "Tabloid"] = "A4"
    columns: Annotated[int, Field(ge=1, le=50)]
    rows: Annotated[int, Field(ge=1, le=100)]
    width_mm: Annotated[float, Field(gt=0, le=500)]
    height_mm: Annotated[float, Field(gt=0, le=500)]
    across_mm: Annotated[float, Field(gt=0, le=500)] | None = None
    down_mm: Annotated[float, Field(gt=0, le=500)] | None = None
    left_mm: Annotated[float, Field(ge=0, le=500)] | None = None
    top_mm: Annotated[float, Field(ge=0, le=500)] | None = None

    def faults(self) -> Iterator[tuple[str, str]]:
        """Yield a fault if labels are too small, overlap, or lie outside the page."""
        if self.page is None or None in (self.columns, self.rows, self.width_mm, self.height_mm):
            return
        if self.width_mm < LEAST_WIDTH_MM or self.height_mm < LEAST_HEIGHT_MM:
            size = f"{self.width_mm:g} by {self.height_mm:g} mm"
            least = f"{LEAST_WIDTH_MM:g} by {LEAST_HEIGHT_MM:g} mm"
            yield "width_mm", f"nothing fits on a label of {size}; a code takes {least} at least"
        for name, size_mm, pitch_mm, many in (
            ("across_mm", self.width_mm, self.across_mm, self.columns),
            ("down_mm", self.height_mm, self.down_mm, self.rows),
        ):
            if pitch_mm is not None and many > 1 and pitch_mm < size_mm - _HAIR_MM:
                yield name, f"found {pitch_mm:g}, less than a label's {size_mm:g} mm: they would lie over each other"
        grid, (width_mm, height_mm) = self.grid, PAPER[self.page]
        for name, what, first_mm, end_mm, has_mm in (
            ("columns", "columns", grid.left_mm, grid.right_mm, width_mm),
            ("rows", "rows", grid.top_mm, grid.bottom_mm, height_mm),
        ):
            if first_mm < -_HAIR_MM or end_mm > has_mm + _HAIR_MM:
                needed = f"{end_mm - min(0.0, first_mm):g}"
                yield (
                    name,
                    f"the {what} reach over {needed} mm, and {self.page} has {has_mm:g}; give fewer or smaller",
                )

    @property
    def grid(self) -> LabelGrid:
        """Where its labels lie."""
        return _centred(
            self.name,
            self.page,
            (self.columns, self.rows),
            (self.width_mm, self.height_mm),
            (self.across_mm or self.width_mm, self.down_mm or self.height_mm),
            (self.left_mm, self.top_mm),
        )


class LabelSettings(Table):
    """Which sheets of labels a studio has; by default the usual ones, on the paper of its exposure sheets."""

    drawers: str | None = None
    boxes: str | None = None
    backs: str | None = None
    sheet: tuple[OwnLabelSheet, ...] = ()

    def faults(self) -> Iterator[tuple[str, str]]:
        """Yield a fault for each name that occurs twice, and each size that does not exist."""
        if self.sheet is None:
            return
        own = [one.name for one in self.sheet if one and one.name]
        for name, times in Counter(own).items():
            if name in USUAL:
                yield "[[sheet]]", f"{name!r} is the name of a usual sheet; give yours another"
            if times > 1:
                yield "[[sheet]]", f"{name!r} is the name of {times} sheets; give each its own"
        for use in USES:
            size = getattr(self, use)
            if size is not None and size not in USUAL and size not in own and None not in self.sheet:
                yield use, no_such_size(size, self)

    def size_for(self, use: Use, page: str) -> str:
        """Return the name of the size for a use, with sheets of a paper or of its smaller half."""
        size: str | None = getattr(self, use)
        return size or _DEFAULT["Letter" if page in ("Letter", "Tabloid") else "A4"][use]

    @property
    def grids(self) -> dict[str, LabelGrid]:
        """Every size by its name."""
        return {**USUAL, **{one.name: one.grid for one in self.sheet}}


def no_such_size(size: str, settings: LabelSettings) -> str:
    """Return the sentence for a size that does not exist."""
    own = [one.name for one in settings.sheet or () if one and one.name]
    return f"there is no label sheet {size!r}; there are {', '.join([*USUAL, *own])}, or add a [[labels.sheet]]"


def _centred(
    name: str,
    page: str,
    many: tuple[int, int],
    size_mm: tuple[float, float],
    pitch_mm: tuple[float, float],
    first_mm: tuple[float | None, float | None] = (None, None),
) -> LabelGrid:
    """Return a grid; if the place of its first label is not given, all labels are centred on the page."""
    free = (
        has - (n - 1) * pitch - one for has, n, pitch, one in zip(PAPER[page], many, pitch_mm, size_mm, strict=True)
    )
    left_mm, top_mm = (room / 2 if said is None else said for room, said in zip(free, first_mm, strict=True))
    return LabelGrid(name, page, *many, *size_mm, *pitch_mm, left_mm, top_mm)


def _inches(name: str, many: tuple[int, int], size: tuple[float, float], across: float) -> LabelGrid:
    """Return a sheet of Letter whose rows touch, in inches."""
    return _centred(
        name, "Letter", many, (size[0] * _INCH_MM, size[1] * _INCH_MM), (across * _INCH_MM, size[1] * _INCH_MM)
    )


# The usual sheets, from the largest labels to the smallest.
USUAL = {
    grid.name: grid
    for grid in (
        _centred("105x148.5", "A4", (2, 2), (105, 148.5), (105, 148.5)),
        _centred("105x74", "A4", (2, 4), (105, 74.25), (105, 74.25)),
        _centred("99.1x67.7", "A4", (2, 4), (99.1, 67.7), (101.6, 67.7)),
        _centred("70x37", "A4", (3, 8), (70, 37), (70, 37)),
        _centred("63.5x38.1", "A4", (3, 7), (63.5, 38.1), (66, 38.1)),
        _centred("52.5x29.7", "A4", (4, 10), (52.5, 29.7), (52.5, 29.7)),
        _centred("45.7x21.2", "A4", (4, 12), (45.7, 21.2), (48.3, 21.2)),
        _centred("38.1x21.2", "A4", (5, 13), (38.1, 21.2), (40.6, 21.2)),
        _centred("25.4x10", "A4", (7, 27), (25.4, 10), (27.9, 10)),
        _inches("101.6x84.7", (2, 3), (4, 10 / 3), across=4.1875),
        _inches("101.6x50.8", (2, 5), (4, 2), across=4.1875),
        _inches("101.6x25.4", (2, 10), (4, 1), across=4.1875),
        _inches("66.7x25.4", (3, 10), (2.625, 1), across=2.75),
        _inches("44.5x12.7", (4, 20), (1.75, 0.5), across=2.0625),
    )
}

# The sizes used by default: for drawers and boxes labels that are read at arm's length, for backs what fits there.
_DEFAULT: dict[str, dict[Use, str]] = {
    "A4": {"drawers": "70x37", "boxes": "63.5x38.1", "backs": "38.1x21.2"},
    "Letter": {"drawers": "101.6x50.8", "boxes": "66.7x25.4", "backs": "44.5x12.7"},
}
