"""Marks: what a printed page is made of, and where each mark lies.

Layout puts marks together, `pdf.py` draws them; neither knows how the other works. Conventions: millimetres from
the page's top left corner, x to the right and y down; a text's y is its baseline; sizes of letters in points;
`grey` runs from 0 (black) to 1 (white), since pages are printed and copied without colour.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from pathlib import Path as FilePath
from typing import Literal

MM_PER_POINT = 25.4 / 72

Align = Literal["left", "centre", "right"]


@dataclass(frozen=True, slots=True)
class Text:
    """Letters on one line; x is their left end, middle or right end, y their baseline."""

    x_mm: float
    y_mm: float
    text: str
    size_pt: float
    bold: bool = False
    align: Align = "left"
    grey: float = 0.0


@dataclass(frozen=True, slots=True)
class Rule:
    """A straight line; `dash_mm` is the length of its dashes and of its gaps, 0 for an unbroken line."""

    x1_mm: float
    y1_mm: float
    x2_mm: float
    y2_mm: float
    width_mm: float = 0.1
    grey: float = 0.0
    dash_mm: float = 0.0


@dataclass(frozen=True, slots=True)
class Box:
    """A rectangle by its top left corner, filled, outlined or both."""

    x_mm: float
    y_mm: float
    width_mm: float
    height_mm: float
    fill: float | None = None
    stroke: float | None = None
    line_mm: float = 0.1


# One step of an outline: ("move", x, y), ("line", x, y), ("curve", x1, y1, x2, y2, x, y) with two control points
# (a cubic Bezier), or ("close",).
PathStep = tuple[str | float, ...]


@dataclass(frozen=True, slots=True)
class Path:
    """An outline of lines and cubic Bezier curves, filled, outlined or both.

    `nonzero` is the fill rule: with it, an area that the outline goes round twice is filled, without it, it is empty.
    """

    steps: tuple[PathStep, ...]
    fill: float | None = None
    stroke: float | None = None
    line_mm: float = 0.1
    nonzero: bool = False


@dataclass(frozen=True, slots=True)
class Drawing:
    """Paths drawn in a unit of their own, placed by the top left corner; one unit becomes `width_mm`.

    A drawing that is used often should be the same tuple of paths each time; the file then holds it only once.
    """

    x_mm: float
    y_mm: float
    width_mm: float
    paths: tuple[Path, ...]


@dataclass(frozen=True, slots=True)
class Image:
    """A picture that was read and reduced for printing: rows of red, green and blue bytes."""

    file: FilePath
    width_px: int
    height_px: int
    rgb: bytes

    def __post_init__(self) -> None:
        if len(self.rgb) != 3 * self.width_px * self.height_px:
            raise ValueError(f"{self.file}: {len(self.rgb)} bytes for {self.width_px} by {self.height_px} points")


@dataclass(frozen=True, slots=True)
class Picture:
    """An image, placed by its top left corner."""

    x_mm: float
    y_mm: float
    width_mm: float
    height_mm: float
    image: Image


@dataclass(frozen=True, slots=True)
class Code:
    """Text as a square code that a camera reads (QR code, ISO/IEC 18004), without its white border."""

    x_mm: float
    y_mm: float
    size_mm: float
    text: str


Mark = Text | Rule | Box | Path | Drawing | Picture | Code


@dataclass(frozen=True, slots=True)
class Page:
    """One side of paper and the marks on it, in the order in which they are drawn and read."""

    width_mm: float
    height_mm: float
    marks: tuple[Mark, ...]


@dataclass(frozen=True, slots=True)
class Bookmark:
    """A place that a reader can jump to: a title, a page counted from 0, and how deep it lies."""

    title: str
    page: int
    depth: int = 0


@dataclass(frozen=True, slots=True)
class Document:
    """Pages in order."""

    title: str
    pages: tuple[Page, ...]
    bookmarks: tuple[Bookmark, ...] = ()

    def __post_init__(self) -> None:
        depth = -1
        for bookmark in self.bookmarks:
            if not 0 <= bookmark.page < len(self.pages):
                raise ValueError(f"bookmark {bookmark.title!r}: page {bookmark.page} of {len(self.pages)}")
            if not 0 <= bookmark.depth <= depth + 1:
                raise ValueError(f"bookmark {bookmark.title!r} lies {bookmark.depth} deep below one at {depth}")
            depth = bookmark.depth


def joined(title: str, documents: tuple[Document, ...]) -> Document:
    """Return documents as one, each under a bookmark of its own title.

    >>> page = Page(210, 297, ())
    >>> parts = (Document("sheet", (page, page), (Bookmark("second", 1),)), Document("chart", (page,)))
    >>> [(b.title, b.page, b.depth) for b in joined("packet", parts).bookmarks]
    [('sheet', 0, 0), ('second', 1, 1), ('chart', 2, 0)]
    """
    pages: list[Page] = []
    bookmarks: list[Bookmark] = []
    for document in documents:
        if not document.pages:
            continue
        bookmarks.append(Bookmark(document.title, len(pages)))
        bookmarks += [replace(b, page=b.page + len(pages), depth=b.depth + 1) for b in document.bookmarks]
        pages += document.pages
    return Document(title, tuple(pages), tuple(bookmarks))
