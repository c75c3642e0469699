"""Measuring: what callipers would find on the program's own drawings is what their numbers say, and it is printed so.

The drawings are measured on their ink, by another library than the one that drew them (pypdfium2).
"""

import numpy as np
import pypdfium2
import pytest

from lipsync.fit.lip_measures import LipLengths, LipScale
from lipsync.fit.mouthset import Lips
from lipsync.paper.marks import Document, Drawing, Page
from lipsync.paper.measuring_page import MeasuringJob, measuring_pages
from lipsync.paper.mouth_drawing import drawing, proportions
from lipsync.paper.pdf import draw
from lipsync.paper.sheet_words import Words
from tests.paper.conftest import MOUTH_SETS
from tests.workshop.conftest import check_pages, lines_of, pages_of

# Half of an outline's width on each side, in the drawing's unit (mouth_drawing.py).
LINE = 0.022
DPMM = 8


def grey(lips, side_mm=100):
    """Return a drawing's greys, its unit 100 mm wide, 8 points a mm."""
    page = Page(side_mm, side_mm, (Drawing(0, 0, side_mm, drawing(lips)),))
    picture = pypdfium2.PdfDocument(draw(Document("mouth", (page,))))[0].render(
        scale=DPMM * 25.4 / 72, grayscale=True
    )
    return picture.to_numpy().squeeze()


def across_ink(lips):
    """Return the width of the ink from corner to corner, outlines cut to their middle, in the drawing's unit."""
    columns = np.flatnonzero((grey(lips) < 250).any(axis=0))
    return (columns[-1] - columns[0] + 1) / DPMM / 100 - LINE


def gap_ink(lips):
    """Return the height between the lips in the middle: from the end of the upper lip's grey to the lower one's."""
    column = grey(lips)[:, 50 * DPMM + 2]
    is_lip = (column > 180) & (column < 196)  # the lips' grey, 0.74 of white; five points of it are no blurred edge
    thick = [at for at in range(len(column) - 5) if is_lip[at : at + 5].all()]
    jumps = np.diff(thick)
    return (jumps.max() - 5) / DPMM / 100 - LINE


@pytest.mark.parametrize("mouth_set", MOUTH_SETS, ids=lambda one: one.name)
def test_callipers_on_a_drawing_find_its_numbers(mouth_set):
    rest = mouth_set.sizes[mouth_set.rest][0].lips
    scale, unit = LipScale(rest), across_ink(rest)
    for piece in mouth_set.piece:
        lips = piece.lips
        tucked = proportions(lips).over_lip > 0  # teeth hide where the lower lip begins
        gap = gap_ink(lips) / unit if lips.opening and not tucked else scale.gap * lips.opening
        found = scale.lips_of(LipLengths(gap, across_ink(lips) / unit, scale.out * lips.rounding))
        assert found.width == pytest.approx(lips.width, abs=0.03), piece.code
        # The least gap is drawn wider than it is, so that it is seen (mouth_drawing.py).
        assert found.opening == pytest.approx(lips.opening, abs=0.05), piece.code


def test_numbers_and_lengths_are_each_others_inverse():
    steps = [n / 5 for n in range(6)]
    for rest in (Lips(opening=0.04, width=0.5, rounding=0.1), Lips(opening=0.0, width=0.3, rounding=0.3)):
        scale = LipScale(rest)
        assert scale.lengths_of(rest).across == pytest.approx(1.0)
        for a, b, c in ((a, b, c) for a in steps[1:] for b in steps for c in steps):
            lips = Lips(opening=a, width=b, rounding=c, teeth=b, tongue=c)
            assert scale.lips_of(scale.lengths_of(lips)) == lips
    assert LipScale(rest).lips_of(LipLengths(9, 9, 9, 9, 9)) == Lips(
        opening=1, width=1, rounding=1, teeth=1, tongue=1
    )
    assert LipScale(rest).lips_of(LipLengths(0, 0)) == Lips(opening=0, width=0, rounding=0)


@pytest.mark.parametrize("mouth_set", MOUTH_SETS, ids=lambda one: one.name)
@pytest.mark.parametrize("page", ["A4", "Letter", "A3"])
def test_the_page_says_how_and_how_much(mouth_set, page):
    words = Words()
    document = measuring_pages(MeasuringJob("Low Tide Post", "Zoë Wade", mouth_set, 20.0, page))
    pages = pages_of(document)
    check_pages(pages)
    lines = lines_of(pages)
    text = " ".join(word for line in lines for word in line)
    # Tideline rests in the middle: of 20 mm 0.6 are 12, a quarter is 5. Driftwood's mouth at rest is narrower, by
    # (0.45 + 1.59) ÷ 2 × (1 - 0.42 × 0.15) = 0.956: of it more makes 1 (by hand).
    gap, out = {"Tideline": (0.6, 0.25), "Driftwood": (0.63, 0.26)}[mouth_set.name]
    assert f"opening = gap ÷ {gap};" in text
    assert f"rounding = out ÷ {out}" in text
    for caution in (words.caution_measure, words.caution_sheets, words.caution_air, words.caution_dust):
        assert caution in text
    rows = {line[0]: line[1:] for line in lines if line[0] in mouth_set.by_code}
    assert list(rows) == list(mouth_set.by_code)
    for code, row in rows.items():
        lips = mouth_set.by_code[code].lips
        assert [float(one) for one in row[:5]] == [lips.opening, lips.width, lips.rounding, lips.teeth, lips.tongue]
        assert float(row[5]) == pytest.approx(20 * gap * lips.opening, abs=0.11)
        assert float(row[7]) == pytest.approx(20 * out * lips.rounding, abs=0.1)
    rest = rows[mouth_set.sizes[mouth_set.rest][0].code]
    assert float(rest[6]) == 20.0
