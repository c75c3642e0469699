"""Drawing marks: what the PDF holds is what the marks say, and nothing of the day, the folder or the machine."""

import ctypes
import io
import os
import subprocess
import sys
from pathlib import Path as FilePath

import numpy as np
import pypdf
import pypdfium2
import pytest
import zxingcpp

from lipsync.paper import pdf
from lipsync.paper.marks import (
    Bookmark,
    Box,
    Code,
    Document,
    Drawing,
    Image,
    Page,
    Path,
    Picture,
    Rule,
    Text,
    joined,
)
from lipsync.paper.pdf import draw, missing_glyphs, string_width_mm

NAME = "Ænne Šťovíková"
SQUARE = (Path((("move", 0, 0), ("line", 1, 0), ("line", 1, 0.5), ("line", 0, 0.5), ("close",)), 0.2),)
IMAGE = Image(FilePath("a.png"), 2, 1, bytes((255, 0, 0, 0, 0, 255)))
MARKS = (
    Box(10, 30, 20, 10, fill=0.5, stroke=0.0),
    Rule(10, 50, 100, 50, 0.5, grey=0.2),
    Rule(10, 55, 100, 55, 0.5, dash_mm=1),
    Text(20, 20, NAME, 13, bold=True),
    Text(100, 20, "right", 9, align="right"),
    Text(100, 26, "centre", 9, align="centre"),
    Code(20, 60, 20, "A CODE"),
    Drawing(50, 60, 10, SQUARE),
    Drawing(70, 60, 20, SQUARE),
    Picture(100, 60, 20, 10, IMAGE),
    Path((("move", 50, 90), ("curve", 60, 80, 70, 100, 80, 90), ("close",)), fill=0.3),
)
DOCUMENT = Document("A title", (Page(210, 297, MARKS), Page(297, 210, MARKS)), (Bookmark("second", 1),))


def grey(document, page=0, per_mm=5):
    """A page as grey points, 5 to a millimetre."""
    pdf = pypdfium2.PdfDocument(draw(document))
    return pdf[page].render(scale=per_mm * 25.4 / 72, grayscale=True).to_numpy().squeeze()


def test_a_text_that_comes_again_is_written_as_the_library_writes_it(monkeypatch):
    """A file holds letters in sets of 256: some texts lead from one set to the next, with short ones between."""
    letters = "".join(letter for letter in map(chr, range(0xA1, 0x2000)) if not missing_glyphs(letter))[:700]
    texts = [text for at in range(0, 700, 100) for text in (letters[at : at + 100], "rest", letters[at + 5 : at - 5])]
    kinds = ((6, False), (8, False), (6, True), (6, False))
    marks = [Text(5, 5, text, size, bold) for size, bold in kinds for text in texts]
    document = Document("Letters", (Page(210, 297, tuple(marks)),) * 2)
    ours = draw(document)
    monkeypatch.setattr(pdf._Pen, "_letters", lambda _self, lines, mark: lines.textOut(mark.text))
    assert draw(document) == ours


def test_each_mark_lies_where_it_should():
    points = grey(DOCUMENT)
    assert points.shape == (pytest.approx(297 * 5, abs=1), pytest.approx(210 * 5, abs=1))
    at = lambda x_mm, y_mm: int(points[round(y_mm * 5), round(x_mm * 5)])  # noqa: E731
    assert abs(at(20, 35) - 128) <= 2  # the box, half grey
    assert at(31, 35) == 255
    assert abs(at(50, 50) - 51) <= 2  # the rule
    assert at(50, 51) == 255
    assert {at(10.5 + n, 55) for n in range(8)} == {0, 255}  # dashes and gaps
    assert abs(at(55, 62) - 51) <= 2  # the drawing, one unit 10 mm wide
    assert at(55, 66) == 255
    assert abs(at(89, 69) - 51) <= 2  # the same at 20 mm
    assert at(101, 65) == 76  # red in grey: 0.299 of white (ITU-R BT.601)


def test_text_is_read_back_with_size_font_and_place():
    page = pypdf.PdfReader(io.BytesIO(draw(DOCUMENT))).pages[0]
    found = {}

    def visit(text, _cm, tm, font, size):
        if text.strip():
            found[text.strip()] = (tm[4] * 25.4 / 72, 297 - tm[5] * 25.4 / 72, font["/BaseFont"], size)

    page.extract_text(visitor_text=visit)
    x_mm, y_mm, font, size = found[NAME]
    assert (x_mm, y_mm, size) == (pytest.approx(20, abs=0.01), pytest.approx(20, abs=0.01), 13)
    assert font.endswith("+DejaVuSansCondensed-Bold")
    assert found["right"][0] == pytest.approx(100 - string_width_mm("right", 9), abs=0.01)
    assert found["centre"][0] == pytest.approx(100 - string_width_mm("centre", 9) / 2, abs=0.01)


def test_a_width_is_that_of_the_printed_letters():
    # The outside's measure: where another PDF library (pdfium) sets the letter that follows.
    text = "Waft, " * 10
    document = Document("w", (Page(300, 50, (Text(10, 20, text + "|", 12),)),))
    letters = pypdfium2.PdfDocument(draw(document))[0].get_textpage()
    x_pt, y_pt = ctypes.c_double(), ctypes.c_double()
    assert pypdfium2.raw.FPDFText_GetCharOrigin(letters, len(text), x_pt, y_pt)
    # pdfium cuts each letter's width down to whole thousandths of the size.
    cut_mm = len(text) * 12 / 1000 * 25.4 / 72
    assert x_pt.value * 25.4 / 72 - 10 == pytest.approx(string_width_mm(text, 12), abs=cut_mm)


def test_every_font_is_embedded_and_no_other_is_named():
    reader = pypdf.PdfReader(io.BytesIO(draw(DOCUMENT)))
    fonts = [font.get_object() for page in reader.pages for font in page["/Resources"]["/Font"].values()]
    assert fonts
    for font in fonts:
        assert "DejaVuSansCondensed" in font["/BaseFont"]
        assert "/FontFile2" in font["/FontDescriptor"].get_object()


def test_a_drawing_used_often_is_held_once():
    once = Document("d", (Page(200, 200, (Drawing(10, 10, 9, SQUARE),)),))
    often = Document("d", (Page(200, 200, tuple(Drawing(10, 10 + n, 9, SQUARE) for n in range(100))),))
    assert draw(often).count(b"/Subtype /Form") == draw(once).count(b"/Subtype /Form") == 1


def test_bookmarks_lead_to_their_pages():
    both = joined("packet", (DOCUMENT, DOCUMENT))
    reader = pypdf.PdfReader(io.BytesIO(draw(both)))
    first, below, second, _ = reader.outline
    assert (first.title, second.title) == ("A title", "A title")
    assert [reader.get_destination_page_number(b) for b in (first, below[0], second)] == [0, 1, 2]
    assert reader.metadata.title == "packet"


def test_letters_that_no_font_has_are_named():
    assert missing_glyphs(NAME + " Ελλάδα Київ Հայ ქართ") == ""
    assert missing_glyphs("Zo\N{LATIN SMALL LETTER E}\N{COMBINING DIAERESIS}") == ""
    assert missing_glyphs("a漢b漢字") == "漢字"
    assert missing_glyphs("שלום") == "שלום"  # right to left: would print backwards
    assert missing_glyphs("tab\there") == "\t"


CHILD = """
import sys
sys.path.insert(0, {root!r})
from tests.paper.test_pdf import DOCUMENT
from lipsync.paper.pdf import draw
sys.stdout.buffer.write(draw(DOCUMENT))
"""


def test_the_same_bytes_in_another_folder_on_another_day_in_another_zone(tmp_path):
    here = draw(DOCUMENT)
    root = str(FilePath(__file__).parents[2])
    for zone, seed in (("Pacific/Auckland", "1"), ("America/Lima", "2")):
        env = {**os.environ, "TZ": zone, "PYTHONHASHSEED": seed, "SOURCE_DATE_EPOCH": seed}
        there = subprocess.run(
            [sys.executable, "-c", CHILD.format(root=root)], cwd=tmp_path, env=env, capture_output=True, check=True
        )
        assert there.stdout == here
    assert b"/CreationDate (D:2000" in here  # a fixed one: the library writes one in any case


@pytest.mark.parametrize("text", ["K7M-2Q-9XA", "low tide 030", "x" * 60])
def test_a_camera_reads_the_square_code(text):
    # The outside's measure: another library reads it at 150 points to the inch, in poor light.
    document = Document("q", (Page(40, 40, (Code(15, 15, 9 if len(text) < 20 else 14, text),)),))
    clear = grey(document, per_mm=150 / 25.4).astype(float)
    noise = np.random.default_rng(1).normal(0, 12, clear.shape)
    dim = np.clip(clear * 0.6 + 50 + noise, 0, 255).astype(np.uint8)
    assert [found.text for found in zxingcpp.read_barcodes(dim)] == [text]


@pytest.mark.parametrize("text", ["K7M-2Q-9XA", "low tide 030", "x" * 60])
def test_the_square_code_has_its_three_corner_squares(text):
    points = grey(Document("q", (Page(40, 40, (Code(5, 5, 29, text),)),)), per_mm=20)
    dark = points < 128
    across = dark[5 * 20 + 2, 5 * 20 : 34 * 20]
    assert across.any()
    # ISO/IEC 18004: a corner square is 7 fields, of 21 + 4n in all; the middle line reads 1:1:3:1:1.
    fields = next(n for n in range(21, 80, 4) if abs(np.argmin(across) / (29 * 20) - 7 / n) < 0.5 / n)
    side = 29 * 20 / fields
    for x, y in ((0, 0), (fields - 7, 0), (0, fields - 7)):
        line = [bool(dark[int(100 + (y + 3.5) * side), int(100 + (x + n + 0.5) * side)]) for n in range(7)]
        assert line == [True, False, True, True, True, False, True]
