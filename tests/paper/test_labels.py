"""Labels: sheets by their geometry, what stands on each label read back, and what does not fit told in one go."""

import itertools
import tomllib

import pypdfium2
import pytest
import zxingcpp

from lipsync.errors import InputError
from lipsync.paper.label_page import LabelJob, label_pages
from lipsync.paper.label_sheets import USUAL, LabelSettings
from lipsync.paper.label_tile import LabelSaid
from lipsync.paper.page_forms import PAPER
from lipsync.paper.pdf import draw
from lipsync.tomlfile import read_what_stands
from tests.paper.conftest import MOUTH_SETS

# Left and top margin, and from label to label, in mm, as the open templates of Debian's package glabels-data 3.4.1
# have them (of several makers' sheets of one size, one of those most have).
TEMPLATES = {
    "105x148.5": (0.0, 0.0, 105.0, 148.5),
    "105x74": (0.0, 0.0, 105.0, 74.2),
    "99.1x67.7": (4.7, 13.1, 101.6, 67.7),
    "70x37": (0.0, 0.5, 70.0, 37.0),
    "63.5x38.1": (7.2, 15.2, 66.0, 38.1),
    "52.5x29.7": (0.0, 0.0, 52.5, 29.7),
    "45.7x21.2": (9.7, 21.3, 48.3, 21.2),
    "38.1x21.2": (4.7, 10.9, 40.6, 21.2),
    "25.4x10": (8.6, 13.5, 27.9, 10.0),
    "101.6x84.7": (4.0, 12.7, 106.4, 84.7),
    "101.6x50.8": (4.1, 12.7, 106.4, 50.8),
    "101.6x25.4": (4.0, 12.7, 106.4, 25.4),
    "66.7x25.4": (4.8, 12.7, 69.8, 25.4),
    "44.5x12.7": (7.1, 12.7, 52.4, 12.7),
}

PIECES = [piece for mouth_set in MOUTH_SETS for piece in mouth_set.piece]


def said(piece, who="Zoë Wade", where="", key="heron"):
    return LabelSaid(piece.code, piece.name, who, where, f"{key} {piece.code}", piece)


def squares(document):
    """Return what a reader of square codes finds on each page, with the middle of each in mm."""
    found = []
    for page in pypdfium2.PdfDocument(draw(document)):
        picture = page.render(scale=300 / 72, grayscale=True).to_numpy().squeeze()
        codes = zxingcpp.read_barcodes(picture, formats=zxingcpp.BarcodeFormat.QRCode)
        mm = 25.4 / 300
        corners = [(code.text, code.position.top_left, code.position.bottom_right) for code in codes]
        found.append([(text, (a.x + b.x) / 2 * mm, (a.y + b.y) / 2 * mm) for text, a, b in corners])
    return found


def test_the_usual_sheets_lie_as_they_do_elsewhere():
    assert list(TEMPLATES) == list(USUAL)
    for name, (left, top, across, down) in TEMPLATES.items():
        grid = USUAL[name]
        assert (grid.left_mm, grid.top_mm) == pytest.approx((left, top), abs=0.5), name
        assert (grid.across_mm, grid.down_mm) == pytest.approx((across, down), abs=0.06), name
        width_mm, height_mm = PAPER[grid.page]
        assert -0.01 <= grid.left_mm <= grid.right_mm <= width_mm + 0.01
        assert -0.01 <= grid.top_mm <= grid.bottom_mm <= height_mm + 0.01
        assert [float(part) for part in name.split("x")] == pytest.approx([grid.width_mm, grid.height_mm], abs=0.3)


@pytest.mark.parametrize("name", USUAL)
def test_each_text_and_square_code_lies_on_its_label(name, read):
    grid = USUAL[name]
    labels = [said(piece, "Ænne Šťovíková\nheron-2") for piece in PIECES][: min(9, grid.count + 2)]
    first = max(1, grid.count - 5)
    made = label_pages(LabelJob("Low Tide Post", grid, labels, first))
    pages = read(made.document)
    assert len(pages) == -(-(first - 1 + len(labels)) // grid.count)
    on_label = {}
    for sheet, (_, _, texts) in enumerate(pages):
        for text in texts:
            assert text.size >= 7
            at = [
                place
                for place in range(grid.count)
                for x, y in [grid.corner_mm(place)]
                if x + 0.9 <= text.left < text.right <= x + grid.width_mm - 0.9
                and y <= text.top < text.bottom <= y + grid.height_mm
            ]
            assert len(at) == 1, (name, text)
            on_label.setdefault(sheet * grid.count + at[0], []).append(text)
        for a, b in itertools.combinations(texts, 2):
            assert a.right <= b.left or b.right <= a.left or a.bottom <= b.top or b.bottom <= a.top, (a, b)
    # The first label is that asked for, none is left free between them, and each has its own piece's code and name.
    assert sorted(on_label) == list(range(first - 1, first - 1 + len(labels)))
    for place, label in enumerate(labels, start=first - 1):
        words = [text.text for text in on_label[place]]
        assert words[0] == label.code
        assert on_label[place][0].bold
        assert label.code in made.left_out.get("name", ()) or label.name in " ".join(words)
        assert label.code in made.left_out.get("who", ()) or "Ænne Šťovíková heron-2" in " ".join(words[1:])


@pytest.mark.parametrize("name", ["70x37", "63.5x38.1", "38.1x21.2", "66.7x25.4", "101.6x84.7"])
def test_a_camera_reads_which_piece_it_is(name):
    grid = USUAL[name]
    labels = [said(piece) for piece in PIECES[: min(6, grid.count)]]
    made = label_pages(LabelJob("Low Tide Post", grid, labels))
    assert made.left_out == {}
    (found,) = squares(made.document)
    assert sorted(text for text, _, _ in found) == sorted(label.square for label in labels)
    for text, x, y in found:
        left, top = grid.corner_mm([label.square for label in labels].index(text))
        assert left < x < left + grid.width_mm
        assert top < y < top + grid.height_mm


def test_a_field_of_the_square_code_is_wide_enough_and_has_its_white_border():
    """ISO/IEC 18004: four fields of white about the code; 21 fields a side hold 14 bytes at level M (its table 7)."""
    from lipsync.paper.marks import Code

    for grid in USUAL.values():
        made = label_pages(LabelJob("Low Tide Post", grid, [said(PIECES[0])]))
        for mark in (mark for mark in made.document.pages[0].marks if isinstance(mark, Code)):
            assert len(mark.text) <= 14
            field = mark.size_mm / 21
            assert field >= 0.33
            assert mark.x_mm + mark.size_mm + 4 * field <= grid.left_mm + grid.width_mm
            assert mark.y_mm - 4 * field >= grid.top_mm - 1e-6


def test_what_has_no_room_is_told_and_the_code_always_stands(read):
    labels = [said(piece, "Old Plumbeck of the Outer Pier") for piece in PIECES[:3]]
    made = label_pages(LabelJob("Low Tide Post", USUAL["25.4x10"], labels))
    assert set(made.left_out) == {"square", "who"}
    assert made.left_out["square"] == ("REST", "OPEN", "SPRD")
    codes = [text.text for _, _, texts in read(made.document) for text in texts if text.bold]
    assert codes == ["REST", "OPEN", "SPRD"]


def test_names_of_forty_letters_stand_whole_or_are_told(read):
    piece = PIECES[0].model_copy(update={"name": "a very long name of a mouth, forty of it"})
    for grid in USUAL.values():
        made = label_pages(LabelJob("Low Tide Post", grid, [said(piece)]))
        words = " ".join(text.text for _, _, texts in read(made.document) for text in texts)
        assert ("name" in made.left_out) != (piece.name in words), grid.name
        assert "…" not in words


def test_a_label_on_which_not_even_the_code_fits_is_refused_with_all_of_them():
    own = LabelSettings.model_validate(
        {"sheet": ({"name": "tag", "columns": 2, "rows": 2, "width_mm": 12.0, "height_mm": 5.0},)}
    )
    wide = [PIECES[0].model_copy(update={"code": code}) for code in ("WWWWWW", "REST", "MMMMMM")]
    with pytest.raises(InputError, match="12 by 5 mm nothing fits, not even WWWWWW, MMMMMM in letters of 7 points"):
        label_pages(LabelJob("Low Tide Post", own.grids["tag"], [said(piece) for piece in wide]))


def faults(tmp_path, text):
    path = tmp_path / "labels.toml"
    path.write_text(text, encoding="utf-8")
    return [str(problem).removeprefix(f"{path}: ") for problem in read_what_stands(path, LabelSettings)[1]]


def test_all_that_is_wrong_with_a_studios_own_sheets_is_told_in_one_go(tmp_path):
    sheet = '[[sheet]]\nname = "{}"\ncolumns = {}\nrows = {}\nwidth_mm = {}\nheight_mm = {}\n{}\n'
    rows = [
        ("tiny", 2, 2, 8, 3, ""),
        ("over", 2, 2, 50, 30, "across_mm = 40"),
        ("wide", 5, 2, 50, 30, ""),
        ("high", 1, 12, 50, 30, "top_mm = 10"),
        ("70x37", 3, 8, 70, 37, ""),
        ("twin", 1, 1, 70, 37, ""),
        ("twin", 1, 1, 60, 37, ""),
    ]
    told = faults(tmp_path, 'boxes = "tinn"\n' + "".join(sheet.format(*row) for row in rows))
    for words in ("nothing fits", "over each other", "the columns", "the rows"):
        assert sum(words in one for one in told) == 1, words
    assert sum("'70x37' is the name of a usual sheet" in one for one in told) == 1
    assert sum("'twin' is the name of 2 sheets" in one for one in told) == 1
    assert sum("there is no label sheet 'tinn'; there are 105x148.5, " in one for one in told) == 1
    assert len(told) == 7
    assert faults(tmp_path, "".join(sheet.format("x", n, 2, 30, 20, "") for n in (0,)))[0].endswith(
        "1 or more is allowed"
    )


def test_an_own_sheet_lies_where_it_says(tmp_path):
    text = """
    [[sheet]]
    name = "tin"
    columns = 2
    rows = 4
    width_mm = 90.0
    height_mm = 60.0
    across_mm = 95.0
    down_mm = 65.0
    left_mm = 12.5
    top_mm = 21.0
    """
    path = tmp_path / "labels.toml"
    path.write_text(text)
    settings, problems = read_what_stands(path, LabelSettings)
    assert problems == ()
    assert settings is not None
    grid = settings.grids["tin"]
    assert [grid.corner_mm(place) for place in (0, 1, 2, 7)] == [(12.5, 21), (107.5, 21), (12.5, 86), (107.5, 216)]
    assert tomllib.loads(text)["sheet"][0]["name"] in settings.grids
    assert settings.size_for("backs", "Letter") == "44.5x12.7"
    assert settings.size_for("drawers", "A3") == "70x37"
