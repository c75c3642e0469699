"""Draws marks as PDF and decides nothing; the only file that knows the PDF library.

In: a `Document` (marks.py). Out: the bytes of a PDF 1.4 file. The same document gives the same bytes on any day and
in any folder: neither the day nor the machine nor a path is written. Fonts are DejaVu Sans Condensed and its bold
(free licence, see fonts/LICENSE); only the letters that are used go into the file. The widths of letters that layout
needs come from here too, since the fonts are here.
"""

from __future__ import annotations

import hashlib
import importlib.util
import io
import unicodedata
from collections.abc import Callable, Iterable
from functools import cache, lru_cache
from importlib.resources import files
from itertools import groupby
from pathlib import Path as FilePath
from typing import Any

import reportlab
from PIL import Image as PillowImage
from reportlab import rl_config
from reportlab.lib.utils import ImageReader
from reportlab.pdfbase import pdfmetrics
from reportlab.pdfbase.ttfonts import TTFont
from reportlab.pdfgen.canvas import FILL_EVEN_ODD, FILL_NON_ZERO, Canvas

from lipsync.paper.marks import (
    MM_PER_POINT,
    Box,
    Code,
    Document,
    Drawing,
    Image,
    Mark,
    Page,
    Path,
    PathStep,
    Picture,
    Rule,
    Text,
)

_FACES = {False: "DejaVuSansCondensed", True: "DejaVuSansCondensed-Bold"}
_POINT = 1 / MM_PER_POINT

# Letters of these classes are written from right to left (Unicode Standard Annex 9); they would print in the wrong
# order and unjoined, so they count as missing.
_RIGHT_TO_LEFT = frozenset({"R", "AL", "RLE", "RLO", "RLI", "AN"})


@lru_cache(maxsize=2)
def _font(bold: bool) -> TTFont:
    """Return a registered font, read once."""
    # Binary streams: coded as text (ASCII85) they would be larger by a quarter.
    rl_config.useA85 = 0
    data = (files("lipsync") / "paper" / "fonts" / f"{_FACES[bold]}.ttf").read_bytes()
    font = TTFont(_FACES[bold], io.BytesIO(data), asciiReadable=0)
    pdfmetrics.registerFont(font)
    return font


@lru_cache(maxsize=65536)
def string_width_mm(text: str, size_pt: float, bold: bool = False) -> float:
    """Return how wide letters are when printed.

    >>> round(string_width_mm("rest", 10), 2), round(string_width_mm("rest", 10, bold=True), 2)
    (6.15, 7.13)
    """
    return float(_font(bold).stringWidth(text, size_pt)) * MM_PER_POINT


@lru_cache(maxsize=4096)
def _printable(letter: str) -> bool:
    return (
        all(ord(letter) in _font(bold).face.charToGlyph for bold in _FACES)
        and unicodedata.category(letter) not in ("Cc", "Cf", "Cs")
        and unicodedata.bidirectional(letter) not in _RIGHT_TO_LEFT
    )


def missing_glyphs(text: str) -> str:
    """Return the letters of a text that cannot be printed, each once, in order.

    >>> missing_glyphs("Ænne Šťovíková"), missing_glyphs("漢字 x")
    ('', '漢字')
    """
    letters = unicodedata.normalize("NFC", text)
    return "".join(dict.fromkeys(letter for letter in letters if not _printable(letter)))


def draw(document: Document) -> bytes:
    """Return the document as a PDF file."""
    for bold in _FACES:
        _font(bold)
    out = io.BytesIO()
    canvas = Canvas(out, invariant=1, pageCompression=1, initialFontName=_FACES[False])
    # The library takes these two from the environment's SOURCE_DATE_EPOCH where that is set.
    canvas.setDateFormatter(lambda *_: "D:20000101000000Z")
    canvas._doc.signature = hashlib.md5(b"lipsync", usedforsecurity=False)
    canvas.setTitle(document.title)
    canvas.setAuthor("lipsync")
    canvas.setCreator("lipsync")
    canvas.setProducer("lipsync")
    pen = _Pen(canvas)
    for number, page in enumerate(document.pages):
        for place, bookmark in enumerate(document.bookmarks):
            if bookmark.page == number:
                canvas.bookmarkPage(f"place{place}")
                canvas.addOutlineEntry(bookmark.title, f"place{place}", bookmark.depth)
        pen.draw(page)
        canvas.showPage()
    if document.bookmarks:
        canvas.showOutline()
    canvas.save()
    return out.getvalue()


class _Pen:
    """Draws the marks of one page after the other on a canvas.

    It remembers what is set (letters, line, greys), so that only changes go into the file.
    """

    def __init__(self, canvas: Any) -> None:
        self._canvas = canvas
        self._forms = 0
        self._drawings: dict[int, tuple[str, tuple[Path, ...]]] = {}
        self._codes: dict[str, str] = {}
        self._images: dict[int, tuple[Any, Image]] = {}
        self._written: dict[tuple[str, bool, float, int], tuple[str, int]] = {}
        self._top_pt = 0.0
        self._set: dict[str, float] = {}

    def draw(self, page: Page) -> None:
        self._canvas.setPageSize((page.width_mm * _POINT, page.height_mm * _POINT))
        self._top_pt = page.height_mm * _POINT
        self._set = {}
        for kind, marks in groupby(page.marks, type):
            if kind is Text:
                self._texts(marks)  # type: ignore[arg-type]
            else:
                draw = self._by_kind[kind]
                for mark in marks:
                    draw(self, mark)

    def _texts(self, marks: Iterable[Text]) -> None:
        lines = self._canvas.beginText()
        font: tuple[bool, float] | None = None
        grey: float | None = None
        for mark in marks:
            if font != (mark.bold, mark.size_pt):
                font = (mark.bold, mark.size_pt)
                lines.setFont(_FACES[mark.bold], mark.size_pt)
            if grey != mark.grey:
                grey = mark.grey
                lines.setFillGray(grey)
            x_mm = mark.x_mm
            if mark.align != "left":
                width_mm = string_width_mm(mark.text, mark.size_pt, mark.bold)
                x_mm -= width_mm if mark.align == "right" else width_mm / 2
            lines.setTextOrigin(x_mm * _POINT, self._top_pt - mark.y_mm * _POINT)
            self._letters(lines, mark)
        self._canvas.drawText(lines)
        self._set.pop("fill", None)

    def _letters(self, lines: Any, mark: Text) -> None:
        """Write a text. The same text stands on a sheet many times: what the library makes of it is kept.

        That depends on the font and on which of its letters, in sets of 256, are chosen before.
        """
        key = (mark.text, mark.bold, mark.size_pt, lines._curSubset)
        if key not in self._written:
            self._written[key] = lines._formatText(mark.text), lines._curSubset
        operators, lines._curSubset = self._written[key]
        lines._code.append(operators)

    def _change(self, name: str, value: float, setter: Callable[[float], None]) -> None:
        if self._set.get(name) != value:
            self._set[name] = value
            setter(value)

    def _dash(self, dash_mm: float) -> None:
        self._canvas.setDash([dash_mm * _POINT] * 2 if dash_mm else [])

    def _line(self, width_mm: float, grey: float, dash_mm: float = 0.0) -> None:
        self._change("width", width_mm, lambda value: self._canvas.setLineWidth(value * _POINT))
        self._change("stroke", grey, self._canvas.setStrokeGray)
        self._change("dash", dash_mm, self._dash)

    def _fill(self, grey: float) -> None:
        self._change("fill", grey, self._canvas.setFillGray)

    def _rule(self, mark: Rule) -> None:
        self._line(mark.width_mm, mark.grey, mark.dash_mm)
        top = self._top_pt
        self._canvas.line(
            mark.x1_mm * _POINT, top - mark.y1_mm * _POINT, mark.x2_mm * _POINT, top - mark.y2_mm * _POINT
        )

    def _box(self, mark: Box) -> None:
        if mark.fill is not None:
            self._fill(mark.fill)
        if mark.stroke is not None:
            self._line(mark.line_mm, mark.stroke)
        self._canvas.rect(
            mark.x_mm * _POINT,
            self._top_pt - (mark.y_mm + mark.height_mm) * _POINT,
            mark.width_mm * _POINT,
            mark.height_mm * _POINT,
            stroke=int(mark.stroke is not None),
            fill=int(mark.fill is not None),
        )

    def _path(self, mark: Path) -> None:
        if mark.fill is not None:
            self._fill(mark.fill)
        if mark.stroke is not None:
            self._line(mark.line_mm, mark.stroke)
        self._outline(mark, _POINT, self._top_pt)

    def _outline(self, mark: Path, scale: float, top_pt: float) -> None:
        outline = self._canvas.beginPath()
        for step in mark.steps:
            _trace(outline, step, scale, top_pt)
        self._canvas.drawPath(
            outline,
            stroke=int(mark.stroke is not None),
            fill=int(mark.fill is not None),
            fillMode=FILL_NON_ZERO if mark.nonzero else FILL_EVEN_ODD,
        )

    def _drawing(self, mark: Drawing) -> None:
        known = self._drawings.get(id(mark.paths))
        if known is None:
            # The paths are kept beside the name: a drawing is known by its place in memory, which must stay its own.
            name = self._held(lambda: self._unit_paths(mark.paths))
            known = self._drawings[id(mark.paths)] = (name, mark.paths)
        self._place(known[0], mark.x_mm, mark.y_mm, mark.width_mm)

    def _code(self, mark: Code) -> None:
        if mark.text not in self._codes:
            self._codes[mark.text] = self._held(lambda: self._unit_code(mark.text))
        self._place(self._codes[mark.text], mark.x_mm, mark.y_mm, mark.size_mm)

    def _held(self, draw: Callable[[], None]) -> str:
        """Put a drawing into the file once, in a unit of its own, and return its name there."""
        self._forms += 1
        name = f"drawing{self._forms}"
        self._canvas.beginForm(name, -0.1, -1.1, 1.1, 0.1)
        draw()
        self._canvas.endForm()
        return name

    def _place(self, name: str, x_mm: float, y_mm: float, width_mm: float) -> None:
        scale = width_mm * _POINT
        self._canvas.saveState()
        self._canvas.transform(scale, 0, 0, scale, x_mm * _POINT, self._top_pt - y_mm * _POINT)
        self._canvas.doForm(name)
        self._canvas.restoreState()

    def _unit_paths(self, paths: tuple[Path, ...]) -> None:
        self._canvas.setLineJoin(1)
        self._canvas.setLineCap(1)
        for path in paths:
            if path.fill is not None:
                self._canvas.setFillGray(path.fill)
            if path.stroke is not None:
                self._canvas.setStrokeGray(path.stroke)
                self._canvas.setLineWidth(path.line_mm)
            self._outline(path, 1.0, 0.0)

    def _unit_code(self, text: str) -> None:
        self._canvas.setFillGray(0)
        rows = _modules(text)
        side = 1 / len(rows)
        outline = self._canvas.beginPath()
        for down, row in enumerate(rows, start=1):
            for dark, run in groupby(enumerate(row), lambda module: module[1]):
                if dark:
                    columns = [column for column, _ in run]
                    outline.rect(columns[0] * side, -down * side, side * len(columns), side)
        self._canvas.drawPath(outline, stroke=0, fill=1)

    def _picture(self, mark: Picture) -> None:
        known = self._images.get(id(mark.image))
        if known is None:
            image = mark.image
            reader = ImageReader(PillowImage.frombytes("RGB", (image.width_px, image.height_px), image.rgb))
            known = self._images[id(image)] = (reader, image)
        self._canvas.drawImage(
            known[0],
            mark.x_mm * _POINT,
            self._top_pt - (mark.y_mm + mark.height_mm) * _POINT,
            mark.width_mm * _POINT,
            mark.height_mm * _POINT,
        )

    _by_kind: dict[type[Mark], Callable[[_Pen, Any], None]] = {  # noqa: RUF012 - a table, never changed
        Rule: _rule,
        Box: _box,
        Path: _path,
        Drawing: _drawing,
        Picture: _picture,
        Code: _code,
    }


def _trace(outline: Any, step: PathStep, scale: float, top_pt: float) -> None:
    kind, *numbers = step
    at = [top_pt - float(n) * scale if i % 2 else float(n) * scale for i, n in enumerate(numbers)]
    if kind == "move":
        outline.moveTo(*at)
    elif kind == "line":
        outline.lineTo(*at)
    elif kind == "curve":
        outline.curveTo(*at)
    else:
        outline.close()


def fields_of_code(text: str) -> int:
    """Return how many fields a side of a text's square code has.

    >>> fields_of_code("heron OPEN2")
    21
    """
    return len(_modules(text))


@lru_cache(maxsize=256)
def _modules(text: str) -> tuple[tuple[bool, ...], ...]:
    """Return the dark and light fields of a QR code, at level M (a seventh of it may be unreadable)."""
    encoder = _qr_encoder()
    code = encoder.QRCode(None, encoder.QRErrorCorrectLevel.M)
    code.addData(text)
    code.make()
    return tuple(tuple(bool(module) for module in row) for row in code.modules)


@cache
def _qr_encoder() -> Any:
    """Return the library's module that makes QR codes, which needs no other, loaded by itself.

    The package of bar codes that it lies in loads all that lays out whole documents: longer than a sheet is drawn.
    """
    path = FilePath(reportlab.__file__).parent / "graphics" / "barcode" / "qrencoder.py"
    spec = importlib.util.spec_from_file_location("reportlab_qrencoder", path)
    assert spec is not None
    assert spec.loader is not None
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    return module
