"""What a studio may say about its sheets, and what it is told where that cannot be."""

from dataclasses import replace
from fractions import Fraction
from itertools import product

import pytest

from lipsync import timing
from lipsync.errors import InputError
from lipsync.fit.mouthset import Lips
from lipsync.paper import lettering
from lipsync.paper.lettering import shortened, wrapped
from lipsync.paper.marks import Bookmark, Document, Page
from lipsync.paper.mouth_drawing import height
from lipsync.paper.needs import FREE, NUMBERS
from lipsync.paper.page_breaks import page_ranges, rows_each
from lipsync.paper.page_forms import FORMS, ORIENTATIONS, PAPER, form_of
from lipsync.paper.pdf import string_width_mm
from lipsync.paper.sheet_settings import COLUMNS
from lipsync.paper.sheet_words import Words
from lipsync.production.production_tables import ProductionFile
from lipsync.tomlfile import read_table

PRODUCTION = """
title = "Low Tide Post"
frame_rate = 24
characters = {{}}
[sheet]
{}
"""


def faults(tmp_path, sheet):
    file = tmp_path / "production.toml"
    file.write_text(PRODUCTION.format(sheet), encoding="utf-8")
    with pytest.raises(InputError, match=r"production\.toml") as caught:
        read_table(file, ProductionFile)
    return [str(problem).removeprefix(f"{file}: ") for problem in caught.value.problems]


@pytest.mark.parametrize(
    ("sheet", "says"),
    [
        ('columns = ["frame", "eyes", "eyes"]', "eyes stands there more than once"),
        ('columns = ["feet", "character"]', "has no frame, and a sheet without frame numbers"),
        ('columns = ["frame", "mood"]', "mood"),
        ('page = "A9"', "A9"),
        ("rule_every = 7", "7"),
        ('words = { shot = "take {number}" }', "found 'take {number}'; this message has {shot}"),
        ('words = { frmae = "x" }', "is not known here"),
        ('words = { frame = "" }', "found ''"),
    ],
)
def test_a_setting_that_cannot_be_is_named(tmp_path, sheet, says):
    (fault,) = faults(tmp_path, sheet)
    assert fault.startswith("[sheet]")
    assert says in fault


def test_every_label_of_a_column_is_in_the_table_of_words():
    assert {name for name in COLUMNS if name != "character"} <= set(Words.model_fields)


def test_every_message_keeps_its_names_in_braces():
    for name, field in Words.model_fields.items():
        assert getattr(Words.model_validate({name: field.default}), name) == field.default
        with pytest.raises(ValueError, match="this message has"):
            Words.model_validate({name: field.default + " {other}"})


@pytest.mark.parametrize("page", PAPER)
@pytest.mark.parametrize("orientation", ORIENTATIONS)
@pytest.mark.parametrize("kind", FORMS)
def test_rows_are_high_enough_for_their_letters_on_every_form(page, orientation, kind):
    rates = [Fraction(text) for text in ("12", "24", "24000/1001", "25", "30", "48", "50", "60")]
    form = form_of(page, orientation, kind)
    for rate, banks in product(rates, range(1, form.banks + 1)):
        made = replace(form, rows=rows_each(form, rate, banks))
        # A page begins where a second does, or a part of one that has more frames than the page has room for.
        second, whole = timing.nominal_rate(rate), banks * made.rows
        if second <= form.most_rows:
            assert whole % second == 0 or banks > 1, (rate, banks)
        elif banks == 1:
            assert -(-second // whole) * whole - second < second // whole + 1, (rate, banks)  # as even as can be
        assert made.tight.reach_mm <= made.pitch_mm, (rate, banks)
    form = replace(form, rows=rows_each(form, Fraction(24)))
    # From the foot of a g to the top of a b (DejaVu Sans Condensed, bold, glyf table: -442 to 1556 of 2048).
    assert form.tight.code * (1556 + 442) / 2048 * 25.4 / 72 <= form.pitch_mm
    assert form.letters.code >= form.tight.code >= (20 if kind == "large" else 13)
    assert min(form.tight.word, form.tight.phoneme) >= 9
    assert min(form.tight.feet, form.tight.timecode, form.tight.note, form.tight.label) >= 7
    assert form.rows in ((24, 48) if kind != "compact" else (24, 48, 72))


@pytest.mark.parametrize("rate", ["12", "24", "24000/1001", "25", "30000/1001", "30", "48"])
@pytest.mark.parametrize("kind", FORMS)
def test_pages_break_on_seconds_and_the_last_is_not_nearly_empty(rate, kind):
    """Every length up to six seconds, on every paper: a last page of less than half has no second to be given."""
    for page, orientation in product(PAPER, ORIENTATIONS):
        form, second = form_of(page, orientation, kind), timing.nominal_rate(Fraction(rate))
        for frames, banks in product(range(1, 6 * second + 1), {1, form.banks}):
            pages = page_ranges(frames, form, Fraction(rate), banks)
            edges = [(one.first, one.end) for one in pages]
            assert [edges[0][0], *(end for _, end in edges)] == [*(first for first, _ in edges), frames]
            assert all(one.end - one.first <= banks * one.rows <= banks * form.most_rows for one in pages)
            full = banks * rows_each(form, Fraction(rate), banks)
            if banks * form.most_rows < second or (banks > 1 and full % second):
                continue
            assert all(first % second == 0 for first, _ in edges), (page, frames)
            if len(pages) > 1 and 2 * (frames - edges[-1][0]) < full:
                before, last = ((end - first) for first, end in edges[-2:])
                assert before == second or last > before - second


def test_half_a_second_over_is_spread_over_the_page_before():
    """By hand: A4 upright has 48 rows at 24, 54 at the most; 8.5 seconds were 48, 48, 48, 48 and 12."""
    form = form_of("A4", "portrait", "standard")
    long, short = (page_ranges(frames, form, Fraction(24)) for frames in (204, 60))
    assert [one.end - one.first for one in long] == [48, 48, 48, 24, 36]
    assert [one.rows for one in long] == [48, 48, 48, 36, 36]
    assert [(one.end - one.first, one.rows) for one in short] == [(24, 36), (36, 36)]
    # The pages before the last two stay when the shot grows.
    assert page_ranges(220, form, Fraction(24))[:3] == long[:3]


def test_paper_is_as_large_as_its_standard_says():
    # ISO 216: A4 is 210 by 297 mm, A3 twice that. ANSI/ASME Y14.1: A is 8.5 by 11 inches, B 11 by 17.
    assert PAPER["A4"] == (210, 297)
    assert PAPER["A3"] == (297, 420)
    assert PAPER["Letter"] == pytest.approx((8.5 * 25.4, 11 * 25.4))
    assert PAPER["Tabloid"] == pytest.approx((11 * 25.4, 17 * 25.4))


def test_a_text_is_shortened_to_the_longest_that_fits():
    text = "Skerrivane above the pie shop"
    for tenths in range(0, 700, 7):
        width_mm = tenths / 10
        got = shortened(text, width_mm, 10)
        if got == text:
            assert string_width_mm(text, 10) <= width_mm
            continue
        whole = [text[:n].rstrip() + "…" for n in range(1, len(text))]
        fits = [one for one in whole if string_width_mm(one, 10) <= width_mm]
        assert got == (fits[-1] if fits else "")


def test_a_text_is_broken_between_words():
    lines = wrapped("01-lamp-room, 02-post-office, 03-pier", 24, 8, 2)
    assert lines[0] == "01-lamp-room,"
    assert len(lines) == 2
    assert all(string_width_mm(line, 8) <= 24 for line in lines)


def test_a_document_cannot_have_a_bookmark_to_nowhere():
    page = Page(210, 297, ())
    with pytest.raises(ValueError, match="page 1 of 1"):
        Document("d", (page,), (Bookmark("x", 1),))
    with pytest.raises(ValueError, match="lies 1 deep"):
        Document("d", (page,), (Bookmark("x", 0, 1),))


def test_the_height_of_a_mouth_grows_with_its_opening():
    heights = [height(Lips(opening=n / 10, width=0.5, rounding=0.2)) for n in range(11)]
    assert heights == sorted(set(heights))


def test_wrapping_costs_as_much_as_the_text_is_long(monkeypatch):
    """Once it grew with the square: a thousand shots that nobody is to shoot took 14 s."""
    measured = []
    monkeypatch.setattr(lettering, "string_width_mm", lambda *asked: measured.append(1) or string_width_mm(*asked))
    words = [f"scene-{n:04d}" for n in range(4000)]
    lines = lettering.wrapped(", ".join(words), 100, 8, 10_000)
    assert " ".join(lines) == ", ".join(words)
    assert len(measured) < 3 * len(words)


def test_each_column_is_for_a_character_or_has_its_width() -> None:
    assert set(COLUMNS) == {"character", *FREE, *NUMBERS}
