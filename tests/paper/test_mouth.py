"""The drawing of a mouth: proportions that only grow, parts that stay inside, pieces that an eye can tell apart."""

from itertools import combinations, pairwise
from pathlib import Path

import numpy as np
import pypdfium2
import pytest

from lipsync.fit.mouthset import Lips, load_mouth_set
from lipsync.paper.marks import Document, Drawing, Page
from lipsync.paper.mouth_drawing import HEIGHT, drawing, proportions
from lipsync.paper.pdf import draw

MOUTH_SETS = sorted((Path(__file__).parents[2] / "mouthsets").glob("*.toml"))
STEPS = [n / 10 for n in range(11)]
GRID = [
    Lips(opening=o, width=w, rounding=r, teeth=t, tongue=g)
    for o in (0, 0.05, 0.5, 1)
    for w in (0, 0.5, 1)
    for r in (0, 0.5, 1)
    for t in (0, 0.5, 0.83, 1)
    for g in (0, 0.5, 1)
]


def points(path, samples=24):
    """Points on a path's outline, computed here from the Bezier formula, not by the code under test."""
    found, here = [], (0.0, 0.0)
    for kind, *numbers in path.steps:
        pairs = list(zip(numbers[::2], numbers[1::2], strict=True))
        if kind == "curve":
            a, (b, c, d) = here, pairs
            for i in range(1, samples + 1):
                t = i / samples
                weights = ((1 - t) ** 3, 3 * t * (1 - t) ** 2, 3 * t * t * (1 - t), t**3)
                found.append(tuple(sum(w * p[k] for w, p in zip(weights, (a, b, c, d), strict=True)) for k in (0, 1)))
        elif pairs:
            found.append(pairs[-1])
        here = pairs[-1] if pairs else here
    return np.array(found)


def extent(lips):
    """Width and height of what is drawn."""
    every = np.concatenate([points(path) for path in drawing(lips)])
    return np.ptp(every, axis=0)


def test_more_opening_is_taller_more_width_is_wider_more_rounding_is_narrower():
    for width in (0.2, 0.8):
        for teeth in (0, 0.6, 1):
            heights = [extent(Lips(opening=o, width=width, rounding=0.1, teeth=teeth))[1] for o in STEPS]
            assert all(after > before for before, after in pairwise(heights)), (width, teeth, heights)
    widths = [extent(Lips(opening=0.5, width=w, rounding=0.1))[0] for w in STEPS]
    assert all(after > before for before, after in pairwise(widths))
    rounded = [extent(Lips(opening=0.5, width=0.5, rounding=r))[0] for r in STEPS]
    assert all(after < before for before, after in pairwise(rounded))


def test_more_teeth_and_more_tongue_show_more_of_them():
    teeth = [proportions(Lips(opening=1, width=0.5, rounding=0, teeth=t)) for t in STEPS]
    shown = [p.upper_teeth + p.lower_teeth for p in teeth]
    assert all(after > before for before, after in pairwise(shown))
    tongue = [proportions(Lips(opening=1, width=0.5, rounding=0, tongue=t)).tongue for t in STEPS]
    assert all(after > before for before, after in pairwise(tongue))


@pytest.mark.parametrize("lips", GRID, ids=str)
def test_all_of_it_lies_in_the_box_and_its_inside_within_the_lips(lips):
    paths = drawing(lips)
    every = np.concatenate([points(path) for path in paths])
    assert every[:, 0].min() >= 0
    assert every[:, 0].max() <= 1
    assert every[:, 1].min() >= 0
    assert every[:, 1].max() <= HEIGHT
    assert np.allclose(every[:, 0].min() + every[:, 0].max(), 1, atol=1e-3)
    outer = points(paths[0])
    top, bottom = outer[:, 1].min(), outer[:, 1].max()
    for path in paths[1:]:
        inside = points(path)
        assert inside[:, 0].min() > outer[:, 0].min()
        assert inside[:, 1].min() > top
        assert inside[:, 1].max() < bottom


def pictures(mouth_set, width_mm):
    """Every piece drawn alone at a width, as black and white points (150 to the inch, as a cheap printer has)."""
    pages = tuple(Page(10, 8, (Drawing(1, 1, width_mm, drawing(piece.lips)),)) for piece in mouth_set.piece)
    pdf = pypdfium2.PdfDocument(draw(Document("pieces", pages)))
    images = [page.render(scale=150 / 72, grayscale=True).to_numpy().squeeze() for page in pdf]
    return {piece.code: image < 128 for piece, image in zip(mouth_set.piece, images, strict=True)}


@pytest.mark.parametrize("path", MOUTH_SETS, ids=lambda path: path.stem)
def test_at_eight_millimetres_no_two_pieces_print_alike_in_black_and_white(path):
    printed = pictures(load_mouth_set(path), 8)
    for (one, a), (other, b) in combinations(printed.items(), 2):
        # At least a sixth of the dark points of either lie where the other has none (chosen).
        assert (a ^ b).sum() > (a | b).sum() / 6, (one, other)


def test_there_are_mouth_sets_to_look_at():
    assert len(MOUTH_SETS) >= 2


def test_upper_teeth_stand_over_the_lower_lip_of_f_and_v_and_of_no_other_piece():
    """Below the opening's edge and within the lip; teeth that are bared, or have room, stay inside the opening."""
    for mouth_set in map(load_mouth_set, MOUTH_SETS):
        tucked = {piece.code for piece in mouth_set.piece if piece.shape in mouth_set.shapes_of("F")}
        for piece in mouth_set.piece:
            p = proportions(piece.lips)
            assert (p.over_lip > 0) == (piece.code in tucked), piece.code
            assert p.over_lip < p.lower_lip
