"""Any cast fits: one to six characters on every paper, turn and form, read back from their PDFs.

What is asked of each page: every row once and in order, nothing outside or over anything, codes of 13 points, words
and phonemes of 9, nothing under 7, pictures of 5 mm, brows and eyes of 14 mm for each character that speaks or is
named for it, action and camera of 20 mm, and no text cut that carries a code, a number or a name.
"""

import random
import re
from dataclasses import replace
from fractions import Fraction
from itertools import pairwise, product

import pytest

from lipsync.paper.choosing import choose
from lipsync.paper.exposure import sheet
from lipsync.paper.marks import Box, Drawing, Rule, Text
from lipsync.paper.notes import spelt_out
from lipsync.paper.page_forms import FORMS, LARGER, ORIENTATIONS, PAPER
from lipsync.paper.rows import rows_of, stamp_of
from lipsync.paper.sheet_job import SheetJob
from lipsync.paper.sheet_settings import SheetSettings
from lipsync.phonemes import PHONEMES
from lipsync.track import Sound
from tests.paper import conftest
from tests.paper.test_exposure import numbers_on

NAMES = (*conftest.NAMES[:4], "Widow Marrable", "Ferryman Tolk")
KINDS = list(product(PAPER, ORIENTATIONS, FORMS))
TOWARD = ("in Richtung {code}", "den Ton behutsam in Richtung {code} modellieren", "{code} felé alakítani")
# One, three and five characters on each second kind of page, two, four and six on the others.
CASES = [(kind, count) for place, kind in enumerate(KINDS) for count in range(1 + place % 2, 7, 2)]


def job_of(kind, count, monkeypatch, frames=70):
    monkeypatch.setattr(conftest, "NAMES", NAMES)
    page, orientation, form = kind
    rate, rng = Fraction(24), random.Random(f"{kind}{count}")
    cast = tuple(conftest.character_made(rng, index, frames, rate) for index in range(count))
    settings = SheetSettings(page=page, orientation=orientation, form=form)
    return SheetJob("Low Tide Post", "The post office", "030", rate, frames, cast, settings=settings)


@pytest.mark.parametrize(("kind", "count"), CASES, ids=str)
def test_every_cast_on_every_page(kind, count, monkeypatch, read):
    job = job_of(kind, count, monkeypatch)
    chosen, document = choose(job, rows_of(job)), sheet(job)
    pages = read(document)
    with_rows = [texts for _, _, texts in pages if "frame" in {t.text for t in texts}]
    parts = len(chosen.parts)
    for part in range(parts):
        numbers = [int(t.text) for texts in with_rows[part::parts] for t in numbers_on(texts)]
        assert numbers == list(range(1, 71))
    assert [name.name for part in chosen.parts for name in part.job.characters] == list(NAMES[:count])
    for width, height, texts in pages:
        assert all(t.left >= 3 and t.right <= width - 3 and t.top >= 3 and t.bottom <= height - 3 for t in texts)
        assert_apart(texts)
    sizes(job, pages)
    widths(job, chosen)
    for page, (_, _, texts) in zip(document.pages, pages, strict=True):
        pictures(page, texts)
    shown = {text.text for _, _, texts in pages for text in texts}
    assert {*NAMES[:count], "shot 030", stamp_of(job, rows_of(job))} <= shown
    assert not [text for text in shown if "…" in text]
    asked = (chosen.kind.page, chosen.kind.orientation, chosen.kind.form)
    assert (asked == kind) != any("too small for this shot" in text for text in shown)
    assert asked[0] in (kind[0], LARGER.get(kind[0]))
    if asked != kind and kind[2] == "standard":
        told = re.search(r"columns need (\d+) mm, the page has (\d+)", " ".join(sorted(shown)))
        needed, has = map(int, told.groups())
        assert needed > has == int(PAPER[kind[0]][kind[1] == "landscape"] - 16)


def pictures(page, texts):
    """All of one width, 5 mm at least, and over no text and no other picture; no line or box leaves the page."""
    drawn = [mark for mark in page.marks if isinstance(mark, Drawing)]
    assert len({round(mark.width_mm, 6) for mark in drawn}) <= 1
    assert all(mark.width_mm >= 5 for mark in drawn)
    boxes = [(text.left, text.top, text.right, text.bottom) for text in texts]
    # Touching is not lying over.
    hair = 0.02
    for mark in drawn:
        steps = [step for path in mark.paths for step in path.steps]
        across = [mark.x_mm + x * mark.width_mm for step in steps for x in step[1::2]]
        down = [mark.y_mm + y * mark.width_mm for step in steps for y in step[2::2]]
        left, top, right, bottom = min(across), min(down), max(across), max(down)
        for box in boxes:
            assert box[2] <= left + hair or right <= box[0] + hair or box[3] <= top + hair or bottom <= box[1] + hair
        boxes.append((left, top, right, bottom))
    for mark in page.marks:
        if isinstance(mark, Box):
            assert mark.x_mm >= 3
            assert mark.x_mm + mark.width_mm <= page.width_mm - 3
            assert mark.y_mm >= 3
            assert mark.y_mm + mark.height_mm <= page.height_mm - 3
        if isinstance(mark, Rule):
            assert all(3 <= x <= page.width_mm - 3 for x in (mark.x1_mm, mark.x2_mm))
            assert all(3 <= y <= page.height_mm - 3 for y in (mark.y1_mm, mark.y2_mm))


def assert_apart(texts):
    """No two texts lie over each other: only those that share a height are compared."""
    ordered = sorted(texts, key=lambda text: text.top)
    for place, a in enumerate(ordered):
        for b in ordered[place + 1 :]:
            if b.top >= a.bottom:
                break
            assert a.right <= b.left or b.right <= a.left, (a, b)


def sizes(job, pages):
    codes = {piece.code for character in job.characters for piece in character.mouth_set.piece}
    said = {sound.text for character in job.characters for sound in character.sounds}
    for text in (text for _, _, texts in pages for text in texts):
        assert text.size >= 7
        if text.text in codes:
            assert text.size >= 13
        if text.text in said or text.text in PHONEMES:
            assert text.size >= 9


def widths(job, chosen):
    for part in chosen.parts:
        wide = {column.name: column.width_mm for column in part.layout.columns}
        assert not part.layout.left_out or chosen.kind.form == "compact"
        if not part.layout.left_out and part is chosen.parts[-1]:
            assert wide["action"] >= 20
            assert wide["camera"] >= 20
        blocks = [column for column in part.layout.columns if column.character is not None]
        assert [block.character for block in blocks] == list(range(len(part.job.characters)))
        for block in blocks:
            lanes = {name: lane.width_mm for name, lane in block.lanes}
            if "brows" not in part.layout.left_out:
                assert min(lanes["brows"], lanes["eyes"]) >= 14
            edges = [edge for _, lane in block.lanes for edge in (lane.x_mm, lane.x_mm + lane.width_mm)]
            assert edges == sorted(edges)
    for before, after in pairwise(chosen.parts):
        assert before.layout.form.pitch_mm == after.layout.form.pitch_mm


def test_parts_lie_side_by_side_with_the_same_rows_and_the_same_stamp(monkeypatch, read):
    job = job_of(("A3", "landscape", "standard"), 6, monkeypatch, frames=96)
    document = sheet(job)
    pages = read(document)
    heads = [[text.text for text in texts if text.text.startswith("page ")] for _, _, texts in pages[:4]]
    total = heads[0][0].split(" of ")[1].split(",")[0]
    assert heads == [
        [f"page {number} of {total}, part {part} of 2"] for number, part in ((1, 1), (1, 2), (2, 1), (2, 2))
    ]
    stamp = stamp_of(job, rows_of(job))
    for _, _, texts in pages:
        assert stamp in {text.text for text in texts}
    for left, right in ((0, 1), (2, 3)):
        rows = [[(text.text, round(text.baseline, 2)) for text in numbers_on(pages[n][2])] for n in (left, right)]
        assert rows[0] == rows[1]
    # What is written by hand has one place: the last part.
    assert "action" not in {text.text for text in pages[0][2]}
    assert "action" in {text.text for text in pages[1][2]}


def test_who_says_nothing_has_brows_and_eyes_only_if_it_is_named_for_it(monkeypatch, read):
    job = job_of(("A3", "landscape", "standard"), 2, monkeypatch)
    silent = replace(job.characters[1], sounds=(), track=replace(job.characters[1].track, lost=()))
    serves = (None,) * job.frames
    silent = replace(silent, track=replace(silent.track, serves=serves))
    job = replace(job, characters=(job.characters[0], silent))
    assert labels(read(sheet(job))[0][2]) == (1, 1)
    named = replace(job, settings=replace_settings(job.settings, faces=(silent.track.character,)))
    assert labels(read(sheet(named))[0][2]) == (2, 2)
    # Where nobody speaks there is one column of each for all.
    nobody = replace(job, characters=(silent,))
    assert labels(read(sheet(nobody))[0][2]) == (1, 1)


def replace_settings(settings, **changes):
    return settings.model_copy(update=changes)


def labels(texts):
    said = [text.text for text in texts]
    return said.count("brows"), said.count("eyes")


@pytest.mark.parametrize("toward", TOWARD)
def test_a_translated_instruction_never_loses_its_code(toward, monkeypatch, read):
    for kind in (("A4", "portrait", "standard"), ("A3", "landscape", "standard"), ("A4", "landscape", "large")):
        for count in (1, 2, 5):
            job = job_of(kind, count, monkeypatch)
            words = job.settings.words.model_copy(update={"toward": toward, "over": "über {frames} Bilder hinweg"})
            job = replace(job, settings=replace_settings(job.settings, words=words))
            texts = [text.text for _, _, page in read(sheet(job)) for text in page]
            for character in job.characters:
                for note in character.modelling:
                    if hasattr(note, "code"):
                        full, brief = toward.format(code=note.code), f"→ {note.code}"
                        assert any(full in text or text == brief for text in texts), (kind, count, note)
            assert not [text for text in texts if text.endswith("…") and toward.split("{")[0][:6] in text]


def test_boxes_of_revisions_and_words_of_a_studio_stay_on_the_page(monkeypatch, read):
    job = job_of(("A4", "portrait", "standard"), 2, monkeypatch)
    words = job.settings.words.model_copy(update={"page": "strana {page} z celkem {pages} stran tohoto obrazu"})
    job = replace(
        job, settings=replace_settings(job.settings, words=words), revision="AB", before="AA", rows_before=70
    )
    job = replace(
        job,
        rows_before=70,
        shot="harbour-wall.long-shot-with-both-of-them",
        production="Ænne Šťovíková at the Post " * 4,
    )
    document = sheet(job)
    for page, (width, _, texts) in zip(document.pages, read(document), strict=True):
        assert_apart(texts)
        assert f"shot {job.shot}" in {text.text for text in texts}
        for box in (mark for mark in page.marks if isinstance(mark, Box)):
            assert box.x_mm >= 3
            assert box.x_mm + box.width_mm <= width - 3


LONG = "the-longest-word-that-anyone-at-the-post-office-ever-had-to-say"
CUE = "[he counts the undelivered letters under his breath and gives up]"


@pytest.mark.parametrize("text", [LONG, CUE])
@pytest.mark.parametrize("count", [1, 2, 4])
def test_a_long_word_or_cue_is_whole_on_its_row_and_the_page_changes_for_it(text, count, monkeypatch, read):
    for page, form in product(("A4", "Letter"), FORMS):
        job = job_of((page, "portrait", form), count, monkeypatch, frames=40)
        first = job.characters[0]
        said = Sound("x", 0, "AA", text, 100_000, 400_000, 1, -10.0, False)
        first = replace(first, sounds=(said,), track=replace(first.track, lost=()))
        job = replace(job, characters=(first, *job.characters[1:]))
        pages = read(sheet(job))
        assert text in [one.text for _, _, texts in pages for one in texts if one.size >= 9]
        for _, _, texts in pages:
            assert_apart(texts)


def test_a_word_that_no_column_holds_is_whole_at_the_foot_or_on_the_last_page(monkeypatch, read):
    job = job_of(("A4", "portrait", "standard"), 1, monkeypatch, frames=40)
    word = "-".join(["undeliverable"] * 20)
    said = Sound("x", 0, "AA", word, 100_000, 400_000, 1, -10.0, False)
    first = replace(job.characters[0], sounds=(said,), track=replace(job.characters[0].track, lost=()))
    texts = [text.text for _, _, page in read(sheet(replace(job, characters=(first,)))) for text in page]
    assert any(text.startswith("undeliverable") and text.endswith("…") for text in texts)
    assert f"word: {word} (frame 3)".replace(" ", "") in "".join(texts).replace(" ", "")


def test_letters_and_numbers_of_a_heading_stay_whatever_the_words_are(monkeypatch, read):
    """Eighty letters is the most that a studio's label may have; a shot's id has forty at the most."""
    fill = "Überarbeitungsstand der gedruckten Bildtabelle unseres Trickfilmstudios, Nr "
    words = {
        "revision": fill + "{letter}",
        "page_differs": fill + "{letter}",
        "page_as_before": fill + "{letter}",
        "page": fill[:60] + "{page} {pages}",
        "part": fill[:40] + "{page} {part} {parts}",
        "more": fill + "{count}",
        "changed": fill + "{letter}",
        "toward": fill[:70] + "{code}",
        "over": fill[:60] + "{frames}",
        "shot": fill[:60] + "{shot}",
        "end": fill[:60] + "{shot} {frames}",
    }
    for page, orientation, count in (("A4", "portrait", 1), ("Letter", "landscape", 2), ("A4", "landscape", 6)):
        job = job_of((page, orientation, "standard"), count, monkeypatch, frames=60)
        settings = replace_settings(job.settings, words=job.settings.words.model_copy(update=words))
        job = replace(job, settings=settings, revision="AB", before="AA", rows_before=60, changed=frozenset({3}))
        job = replace(job, shot="harbour-wall.long-shot-with-both-of-them", alerts=tuple("abcdefgh"))
        for (_, _, texts), sheet_page in zip(read(sheet(job)), sheet(job).pages, strict=True):
            shown = [text.text for text in texts]
            assert any(job.shot in text for text in shown)
            assert any(text.endswith("AB") for text in shown)
            assert "frame" not in shown or {"≠ AA", "= AA"} & set(shown)
            assert [text for text in shown if re.search(r"(^|Trick)\d+[ /]\d+", text)]
            # What the signs of brief notes mean is said with an ellipsis for code and number.
            meant = spelt_out(settings.words)
            assert not [text for text in shown if text.endswith("…") and text not in meant]
            assert_apart(texts)
            assert all(mark.size_pt >= 7 for mark in sheet_page.marks if isinstance(mark, Text))


def test_sheets_side_by_side_have_boxes_to_tick_on_all_or_on_none(make_job) -> None:
    columns = ("frame", "feet", "timecode", "character", "brows", "eyes", "hands", "action", "camera", "notes")
    settings = SheetSettings(page="A4", orientation="landscape", columns=columns)
    for seed in range(4):
        job = make_job(seed, frames=24, characters=4, settings=settings)
        parts = choose(job, rows_of(job)).parts
        assert len(parts) > 1
        assert len({part.layout.boxed for part in parts}) == 1
