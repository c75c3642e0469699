"""The exposure sheet, read back from its PDF: what stands on which row, how large, and nothing over anything else."""

import math
import random
import re
from dataclasses import fields, replace
from fractions import Fraction
from itertools import combinations, product

import pytest

from lipsync import timing
from lipsync.errors import InputError
from lipsync.fit.keys import Toward
from lipsync.paper import mouth_drawing
from lipsync.paper.cells import PartOn
from lipsync.paper.choosing import choose
from lipsync.paper.exposure import sheet
from lipsync.paper.marks import Box, Drawing, Rule
from lipsync.paper.page_forms import FORMS, ORIENTATIONS, PAPER
from lipsync.paper.rows import HeardSpan, heard_in, rows_of, stamp_of
from lipsync.paper.sheet_settings import SheetSettings
from lipsync.phonemes import PHONEMES
from lipsync.track import Lost, Sound
from tests.paper.conftest import settings_made

# Every form of page, with one to four characters each and once with none or more at random.
KINDS = list(product(PAPER, ORIENTATIONS, FORMS))
CASES = [(kind, count) for kind in KINDS for count in (1, 2, 3, 4, None)]
LONG = [("A4", "portrait", "compact"), ("A3", "landscape", "standard")]


@pytest.fixture(scope="module")
def generated(make_job, read):
    """Shots over all page forms, and two of 2,400 frames, read back."""
    found = []
    jobs = [
        (
            seed,
            make_job(seed, frames=5 if seed % 9 == 0 else None, characters=count, settings=settings_on(seed, kind)),
        )
        for seed, (kind, count) in enumerate(CASES)
    ]
    jobs += [
        (500 + n, make_job(500 + n, frames=2400, characters=2, settings=on(kind))) for n, kind in enumerate(LONG)
    ]
    for seed, job in jobs:
        document = sheet(job)
        found.append((seed, job, read(document), document))
    return found


def on(kind, **more):
    page, orientation, form = kind
    return SheetSettings(page=page, orientation=orientation, form=form, **more)


def settings_on(seed, kind):
    """All columns that a studio may choose from, some of them, or the default ones, in turn."""
    made = settings_made(random.Random(seed))
    return (on(kind), on(kind, columns=made.columns, rule_every=made.rule_every))[seed % 2]


def numbers_on(texts):
    """The frame numbers of a page: the texts of nothing but digits in the size of codes, from the first row on."""
    head = next(i for i, text in enumerate(texts) if text.text == "frame")
    return [text for text in texts[head:] if text.text.isdigit() and text.size >= 13]


def is_first_part(texts):
    """Whether a page is the first of those that lie side by side, or the only one."""
    return not any(re.fullmatch(r"page \d+ of \d+, part [2-9] of \d+", text.text) for text in texts)


def parts_in(job):
    return len(choose(job, rows_of(job)).parts)


def test_enough_of_the_generated_shots_were_printed_and_every_form_among_them(generated):
    assert len(CASES) >= 100
    assert len(generated) == len(CASES) + len(LONG)
    kinds = {(job.settings.page, job.settings.orientation, job.settings.form) for _, job, _, _ in generated}
    assert kinds == set(KINDS)
    assert {len(job.characters) for _, job, _, _ in generated} == {0, 1, 2, 3, 4}
    assert {job.frames for _, job, _, _ in generated} >= {1, 5, 120, 2400}


def test_every_frame_number_stands_once_and_in_order(generated):
    for seed, job, pages, _ in generated:
        numbers = [
            int(text.text)
            for _, _, texts in pages
            if "frame" in {t.text for t in texts}
            if is_first_part(texts)
            for text in numbers_on(texts)
        ]
        assert numbers == list(range(job.first_frame, job.first_frame + job.frames)), seed


def test_no_text_lies_outside_the_page_or_over_another(generated):
    for seed, _, pages, _ in generated:
        for width, height, texts in pages:
            for text in texts:
                assert text.left >= 3 and text.right <= width - 3, (seed, text)  # noqa: PT018
                assert text.top >= 3 and text.bottom <= height - 3, (seed, text)  # noqa: PT018
            for a, b in combinations(texts, 2):
                apart = a.right <= b.left or b.right <= a.left or a.bottom <= b.top or b.bottom <= a.top
                assert apart, (seed, a, b)


def test_no_text_crosses_a_rule_between_columns(generated):
    looked_at = 0
    for seed, _, pages, document in generated:
        for page, (_, _, texts) in zip(document.pages, pages, strict=True):
            # All but the line down from a word, which begins at its foot.
            upright = [mark for mark in page.marks if isinstance(mark, Rule) and mark.x1_mm == mark.x2_mm]
            rules = [rule for rule in upright if rule.width_mm != 0.3]
            looked_at += len(rules)
            for text in texts:
                for rule in rules:
                    level = rule.y1_mm < text.bottom and text.top < rule.y2_mm
                    assert not (level and text.left < rule.x1_mm < text.right), (seed, text, rule)
    assert looked_at > 5_000


def side_of(box):
    """The side of a square; endless if it is none."""
    return box.width_mm if box.width_mm == box.height_mm else math.inf


def test_each_frame_has_one_box_to_tick_and_those_in_the_can_are_black(generated):
    boxed = 0
    for seed, job, _, document in generated:
        boxes = [
            (mark.fill == 0.0)
            for page in document.pages
            for mark in page.marks
            if isinstance(mark, Box) and mark.stroke == 0.0 and mark.fill is not None and side_of(mark) < 5
        ]
        assert len(boxes) in (0, job.frames * parts_in(job)), seed
        if boxes:
            boxed += 1
            if parts_in(job) > 1:
                continue
            assert [frame for frame, black in enumerate(boxes) if black] == sorted(job.filmed), seed
        else:
            assert "filmed" not in job.settings.columns or job.settings.form == "compact", seed
    assert boxed > 0.7 * len(generated)


@pytest.mark.parametrize("page", ["A4", "Letter"])
def test_a_default_page_has_boxes_to_tick(make_job, page):
    for seed in range(30):
        job = make_job(seed, frames=48, characters=1, settings=SheetSettings(page=page))
        sides = {mark.width_mm for mark in sheet(job).pages[0].marks if isinstance(mark, Box) and mark.stroke == 0.0}
        assert 2.6 in sides, seed


def test_no_picture_lies_over_a_text_or_over_another_picture(generated):
    looked_at = 0
    for seed, job, pages, document in generated:
        pieces = {mouth_drawing.drawing(p.lips): p.lips for c in job.characters for p in c.mouth_set.piece}
        for page, (_, _, texts) in zip(document.pages, pages, strict=True):
            boxes = []
            for mark in page.marks:
                if isinstance(mark, Drawing):
                    lips = pieces[mark.paths]
                    half = (
                        0.5 * mouth_drawing.height(lips) * mark.width_mm,
                        mouth_drawing.proportions(lips).outer * mark.width_mm,
                    )
                    x, y = mark.x_mm + mark.width_mm / 2, mark.y_mm + mouth_drawing.HEIGHT / 2 * mark.width_mm
                    boxes.append((x - half[1], y - half[0], x + half[1], y + half[0]))
            looked_at += len(boxes)
            for a, b in combinations(boxes, 2):
                assert apart(a, b), (seed, a, b)
            for box in boxes:
                for text in texts:
                    assert apart(box, (text.left, text.top, text.right, text.bottom)), (seed, box, text)
    assert looked_at > 1000


def apart(a, b):
    """Whether two boxes (left, top, right, bottom) have nothing in common, a twentieth of a mm aside."""
    return a[2] <= b[0] + 0.05 or b[2] <= a[0] + 0.05 or a[3] <= b[1] + 0.05 or b[3] <= a[1] + 0.05


def test_sizes_are_those_that_are_stated(generated):
    for seed, job, pages, _ in generated:
        large = choose(job, rows_of(job)).kind.form == "large"
        codes = {piece.code for character in job.characters for piece in character.mouth_set.piece}
        said = {sound.text for character in job.characters for sound in character.sounds}
        for _, _, texts in pages:
            assert min(text.size for text in texts) >= 7, seed
            for text in texts:
                if text.text in codes:
                    assert text.size >= (20 if large else 13), (seed, text)
                if text.text in said or text.text in PHONEMES:
                    assert text.size >= 9, (seed, text)
            if "frame" in {text.text for text in texts}:
                assert all(text.size >= (20 if large else 13) for text in numbers_on(texts))


def track_read(job, pages):
    """Each character's track, read from where codes and the words "off camera" stand on paper."""
    read, seen = [{} for _ in job.characters], set()
    names = [character.name for character in job.characters]
    for _, _, texts in pages:
        if "frame" not in {text.text for text in texts}:
            continue
        banks = [text for text in texts if text.text == "frame"]
        named = sorted((text.left, names.index(text.text)) for text in texts if text.bold and text.text in names)
        assert len(named) == len({index for _, index in named}) * len(banks)
        seen |= {index for _, index in named}
        rows = numbers_on(texts)
        for text in texts:
            worn = text.text == "off camera" or (text.size == rows[0].size and not text.text.isdigit())
            if not worn or text.baseline < rows[0].baseline - 1:
                continue
            left, index = max(head for head in named if head[0] <= text.left + 0.1)
            row = min(rows, key=lambda row: (abs(row.baseline - text.baseline) > 1, distance(row, left)))
            assert abs(row.baseline - text.baseline) < 1
            read[index][int(row.text) - job.first_frame] = None if text.text == "off camera" else text.text
    assert seen == set(range(len(names)))
    tracks = []
    for found in read:
        track, worn = [], "?"
        for frame in range(job.frames):
            worn = found.get(frame, worn)
            track.append(worn)
        tracks.append(tuple(track))
    return tracks


def distance(row, left):
    """How far a number is from a character's column; those in another bank are further off."""
    return abs(row.left - left)


def test_the_right_piece_stands_on_every_row(make_job, read):
    for seed in range(1000, 1040):
        settings = SheetSettings(
            page="A3",
            orientation="landscape",
            form=("standard", "large")[seed % 2],
            columns=("frame", "feet", "character"),
        )
        job = make_job(seed, settings=settings)
        assert track_read(job, read(sheet(job))) == [c.track.pieces for c in job.characters], seed


def test_a_code_is_bold_where_it_is_fitted_and_light_where_it_is_only_still_worn(make_job, read):
    job = make_job(7, frames=120, characters=1, settings=SheetSettings(columns=("frame", "character")))
    fitted = {fitting.frame: fitting.code for fitting in job.characters[0].track.fittings}
    codes = {piece.code for piece in job.characters[0].mouth_set.piece}
    bold, light = {}, {}
    for _, _, texts in read(sheet(job)):
        rows = {round(text.baseline, 1): int(text.text) - job.first_frame for text in numbers_on(texts)}
        for text in texts:
            if text.text in codes:
                (bold if text.bold else light)[rows[round(text.baseline, 1)]] = text.text
    assert bold == fitted
    assert set(light).isdisjoint(fitted)
    assert all(job.characters[0].track.pieces[frame] == code for frame, code in light.items())


def test_words_stand_once_on_the_row_where_they_are_heard_with_their_phonemes(make_job, read, with_sounds):
    rate = Fraction(24)
    job = make_job(3, frames=96, characters=1, rate=rate, settings=SheetSettings(columns=("frame", "character")))
    # The frame that begins nearest: "lamp" from 0.5 s (frame 12.0), AE at 0.6 s (14.4), M at 0.74 s (17.76), P at
    # 0.8 s (19.2); a breath from 2.5 s (60.0).
    spans = (("L", 500, 600), ("AE", 600, 740), ("M", 740, 800), ("P", 800, 900))
    said = [Sound("a", 0, s, "lamp", b * 1000, e * 1000, 1 if s == "AE" else None) for s, b, e in spans]
    said.append(Sound("a", 1, "[breath]", "[breath]", 2_500_000, 2_900_000))
    job = with_sounds(replace(job, first_frame=1, changed=frozenset()), said)
    where = {}
    for _, _, texts in read(sheet(job)):
        rows = {round(text.baseline, 1): int(text.text) for text in numbers_on(texts)}
        for text in texts:
            where.setdefault(text.text, []).append((rows.get(round(text.baseline, 1)), text.bold))
    assert where["lamp"] == [(13, False)]
    assert where["L"] == [(13, False)]
    assert where["AE"] == [(15, True)]  # bold: stressed
    assert where["M"] == [(19, False)]
    assert where["P"] == [(20, False)]
    assert where["[breath]"] == [(61, False)]
    # Silence from 0.9 s (frame 21.6) to 2.5 s inside the line.
    assert where["(pause)"] == [(23, False)]


def test_feet_and_timecode_stand_on_each_row(make_job, read):
    # 16 frames of 35 mm film are a foot (ISO 491); the labels dropped at a minute, SMPTE ST 12-1.
    settings = SheetSettings(columns=("frame", "feet", "timecode"))
    job = make_job(1, frames=40, characters=0, rate=Fraction(30000, 1001), settings=settings)
    job = replace(job, first_frame=1, start_frame=1790, drop=True, film="35mm")
    ((_, _, texts),) = read(sheet(job))
    rows = {}
    for text in texts:
        rows.setdefault(round(text.baseline, 1), []).append(text.text)
    by_number = {cells[0]: cells[1:] for cells in rows.values() if len(cells) == 3 and cells[0].isdigit()}
    assert by_number["1"] == ["0+00", "00:00:59;20"]
    assert by_number["10"] == ["0+09", "00:00:59;29"]
    assert by_number["11"] == ["0+10", "00:01:00;02"]
    assert by_number["17"] == ["1+00", "00:01:00;08"]


def test_doubtful_words_and_lost_sounds_are_named_at_the_foot_or_on_a_last_page(make_job, read):
    named = filmed = 0
    for seed in range(300, 360, 2):
        job = make_job(seed, frames=120, settings=SheetSettings(page="A3", orientation="landscape"))
        if seed >= 330:
            seen = [replace(one, track=replace(one.track, lost=())) for one in job.characters]
            job = replace(job, filmed=frozenset(range(120)), characters=tuple(seen))
        printed = " ".join(text.text for _, _, texts in read(sheet(job)) for text in texts)
        for character in job.characters:
            for heard in heard_in(job, character):
                told = f"{heard.text} (frame {heard.first + job.first_frame})" in printed
                if heard.doubtful and not job.filmed.issuperset(range(heard.first, heard.last + 1)):
                    assert told, seed
                    named += 1
                elif heard.doubtful and job.filmed == frozenset(range(120)):
                    assert not told, seed  # all of it is in the can, whatever was said
                    filmed += 1
            for lost in character.track.lost:
                first = max(0, timing.nearest_frame(lost.sound.start_us, job.rate))
                number = min(first, job.frames - 1) + job.first_frame
                assert f"{lost.sound.symbol} in {lost.sound.text} (frame {number})" in printed, seed
                named += 1
    assert named > 25
    assert filmed > 25


def test_where_a_foot_has_no_room_for_all_a_last_page_lists_them(make_job, read):
    job = make_job(1, frames=48, characters=1, settings=SheetSettings())
    first = job.characters[0]
    spans = [(n * 40_000, n * 40_000 + 39_000) for n in range(48)]
    said = tuple(Sound("a", n, "AA", f"word{n}", *span, 1, doubtful=True) for n, span in enumerate(spans))
    track = replace(first.track, lost=tuple(Lost(sound, f"reason {n}") for n, sound in enumerate(said[:30])))
    job = replace(job, characters=(replace(first, sounds=said, track=track),), rate=Fraction(24), first_frame=1)
    job = replace(job, drop=False, filmed=frozenset())
    sheet_page, *listed = read(sheet(job))
    foot = " ".join(text.text for text in sheet_page[2])
    assert re.search(r"\d+ more on the last page", foot)
    lines = [text.text for _, _, texts in listed for text in texts]
    for n, sound in enumerate(said):
        number = min(48, timing.nearest_frame(sound.start_us, job.rate) + 1)
        assert f"doubtful: ask before filming: word{n} (frame {number})" in lines
        if n < 30:
            assert f"not seen: AA in word{n} (frame {number}): reason {n}" in lines
    for _, _, texts in listed:
        for a, b in combinations(texts, 2):
            assert a.right <= b.left or b.right <= a.left or a.bottom <= b.top or b.bottom <= a.top, (a, b)


def test_a_word_that_its_column_was_made_for_is_whole(make_job, read, with_sounds):
    whole = 0
    for seed in range(60):
        page = ("A4", "Letter", "A3")[seed % 3]
        job = make_job(seed, frames=30, characters=1, settings=SheetSettings(page=page))
        letters = "abcdefghijklmnop"[seed % 10 : seed % 10 + 4 + seed % 7]
        job = with_sounds(job, [Sound("a", 0, "AA", letters, 0, 400_000, 1)])
        whole += letters in [text.text for _, _, texts in read(sheet(job)) for text in texts]
    assert whole == 60


@pytest.mark.parametrize("page", ["A3", "Tabloid"])
def test_on_a_large_page_a_long_word_is_whole_and_stands_clear_of_its_doubt_and_of_its_phonemes(
    make_job, read, with_sounds, page
):
    settings = SheetSettings(page=page, orientation="landscape", form="large", columns=("frame", "character"))
    job = make_job(2, frames=24, characters=1, settings=settings)
    job = with_sounds(job, [Sound("a", 0, "P", "Incomprehensibly", 0, 400_000, None, doubtful=True)])
    ((_, _, texts), *_) = read(sheet(job))
    (word,) = (text for text in texts if text.text == "Incomprehensibly")
    left = max(text.right for text in texts if text.text == "?" and abs(text.baseline - word.baseline) < 2)
    right = min(text.left for text in texts if text.left > word.right and abs(text.baseline - word.baseline) < 0.1)
    assert word.left - left > 1.2
    assert right - word.right > 1.8


def test_each_page_says_what_it_is(make_job, read):
    job = replace(make_job(5, frames=100, characters=2), production="Ænne Šťovíková", shot="030", revision="C")
    job = replace(job, settings=SheetSettings(page="A3"), rate=Fraction(24000, 1001), first_frame=1001, drop=False)
    pages = read(sheet(job))
    stamp = stamp_of(job, rows_of(job))
    assert re.fullmatch(r"[2-9A-HJ-NP-Z]{3}-[2-9A-HJ-NP-Z]{2}-[2-9A-HJ-NP-Z]{3}", stamp)
    rows = [page for page in pages if "frame" in {text.text for text in page[2]}]
    assert len(rows) == 2
    for number, (_, _, texts) in enumerate(rows, start=1):
        printed = [text.text for text in texts]
        for expected in ("shot 030", f"page {number} of {len(pages)}", "revision C", "Zoë Wade", "Mr Clamp", stamp):
            assert expected in printed
        line = " ".join(printed)
        # The last four frames are spread over the page before.
        last = (1048, 1100)[number - 1]
        for expected in ("Ænne Šťovíková", "The post office", "24000/1001 frames a second"):
            assert expected in line
        assert f"frames {1001 + 48 * (number - 1)} to {last}" in line


@pytest.mark.parametrize(("form", "rows"), [("standard", 48), ("large", 24)])
def test_rows_to_a_page(make_job, read, form, rows):
    for page in PAPER:
        settings = SheetSettings(page=page, form=form, columns=("frame", "character"))
        job = replace(make_job(2, frames=3 * 48 + 24, characters=1, settings=settings, rate=Fraction(24)), alerts=())
        pages = read(sheet(job))
        assert [len(numbers_on(texts)) for _, _, texts in pages[:2]] == [rows, rows]
        assert (pages[0][0], pages[0][1]) == pytest.approx(PAPER[page], abs=0.1)


def test_the_compact_form_sets_four_seconds_on_one_page(make_job, read):
    settings = SheetSettings(form="compact")
    pages = read(sheet(make_job(2, frames=96, characters=1, settings=settings)))
    assert len(numbers_on(pages[0][2])) == 96


def test_a_long_shot_has_every_frame(make_job, read):
    job = replace(make_job(11, frames=2400, characters=2, settings=SheetSettings(page="A3")), first_frame=1001)
    pages = read(sheet(job))
    assert [int(t.text) for _, _, texts in pages[:50] for t in numbers_on(texts)] == [
        job.first_frame + frame for frame in range(2400)
    ]


# "lamp" or a name, in scripts of other letters; the last is Latin as mathematicians write it (Unicode 1D518).
@pytest.mark.parametrize("text", ["山田", "שלום", "مرحبا", "โคมไฟ", "नमस्ते", "한국", "ランプ", "𝔘"])
def test_a_text_in_a_script_that_no_font_has_is_refused(make_job, with_sounds, text):
    job = make_job(4, characters=1)
    named = replace(job, characters=(replace(job.characters[0], name=text),))
    with pytest.raises(InputError, match=f"the name '{text}' has letters that cannot be printed"):
        sheet(named)
    with pytest.raises(InputError, match=f"the word '{text}' has letters that cannot be printed"):
        sheet(with_sounds(job, [Sound("a", 0, "AA", text, 0, 400_000, 1)]))
    other = {"brows": text}
    with pytest.raises(InputError, match=rf"\[sheet.words\] brows, '{text}' has letters that cannot be printed"):
        sheet(replace(job, settings=SheetSettings(words=other)))


# Names as they are written: Vietnamese, Serbian, polytonic Greek, Armenian, Georgian, Icelandic, Turkish.
@pytest.mark.parametrize("name", ["Nguyễn", "Ђорђе", "Ἀθῆναι", "Հայկ", "ქეთევანი", "Þórður", "Iğdır"])
def test_a_name_with_diacritics_or_in_one_of_the_fonts_scripts_is_printed(make_job, read, name):
    job = make_job(4, frames=24, characters=1, settings=SheetSettings())
    job = replace(job, characters=(replace(job.characters[0], name=name),))
    assert name in {text.text for _, _, texts in read(sheet(job)) for text in texts}


def test_a_word_of_500_letters_is_shortened_with_an_ellipsis(make_job, read, with_sounds):
    job = make_job(8, frames=48, characters=1, settings=SheetSettings())
    job = with_sounds(job, [Sound("a", 0, "AA", "abcdefghij" * 50, 0, 400_000, 1, doubtful=True)])
    (width, _, texts), *_ = read(sheet(job))
    cell = [text for text in texts if text.text.startswith("abc")]
    assert cell
    for text in cell:
        assert text.text.endswith("…")
        assert text.right < width
    for a, b in combinations(texts, 2):
        assert a.right <= b.left or b.right <= a.left or a.bottom <= b.top or b.bottom <= a.top, (a, b)


def test_the_stamp_changes_with_any_row_and_with_nothing_else(make_job):
    job = make_job(21, frames=48, characters=2)
    stamp = stamp_of(job, rows_of(job))
    assert stamp == stamp_of(replace(job, settings=SheetSettings(page="A3"), revision="Z"), rows_of(job))
    seen = {stamp}
    track = job.characters[0].track
    for frame in range(48):
        pieces = list(track.pieces)
        pieces[frame] = "NEW"
        serves = [None if piece is None else sound for piece, sound in zip(pieces, track.serves, strict=True)]
        character = replace(job.characters[0], track=replace(track, pieces=tuple(pieces), serves=tuple(serves)))
        edited = replace(job, characters=(character, job.characters[1]))
        seen.add(stamp_of(edited, rows_of(edited)))
    assert len(seen) == 49
    for other in (replace(job, shot="x"), replace(job, first_frame=job.first_frame + 1), replace(job, film="16mm")):
        if other != job:
            assert stamp_of(other, rows_of(other)) not in seen


def cells_otherwise(cell):
    """A cell with each thing that it says changed, one at a time, by the name of its field."""
    for field in fields(cell):
        was = getattr(cell, field.name)
        if field.name == "runs":
            continue  # how far words reach is said where they begin
        if field.name == "begins":
            yield "a word", replace(cell, begins=(*was, HeardSpan("word", "new", 0, 0, False)))
            for index, heard in enumerate(was):
                changes = {
                    "text": "other",
                    "kind": "pause" if heard.kind == "cue" else "cue",
                    "last": heard.last + 1,
                    "doubtful": not heard.doubtful,
                }
                assert set(changes) == {f.name for f in fields(heard)} - {"first"}  # the first is the row itself
                for name, value in changes.items():
                    there = (*was[:index], replace(heard, **{name: value}), *was[index + 1 :])
                    yield f"{name} of a word", replace(cell, begins=there)
        elif field.name == "toward":
            yield "toward", replace(cell, toward=None if was else Toward(0, "NEW", 2))
            if was:
                yield "code", replace(cell, toward=replace(was, code="NEW"))
                yield "over", replace(cell, toward=replace(was, frames=was.frames + 1))
        elif field.name == "parts":
            yield "parts", replace(cell, parts=(*was, PartOn("brows", "BRUP", put_on=True)))
        elif isinstance(was, bool):
            yield field.name, replace(cell, **{field.name: not was})
        elif isinstance(was, tuple):
            yield field.name, replace(cell, **{field.name: (*was, "ZZ")})
        else:
            yield field.name, replace(cell, **{field.name: "NEW"})


def test_the_stamp_changes_with_every_field_of_every_row(make_job):
    job = make_job(23, frames=48, characters=2)
    rows = rows_of(job)
    stamp = stamp_of(job, rows)
    tried = 0
    for place, row in enumerate(rows):
        others = [
            (name, replace(row, **{name: 10**9 if name == "number" else "x"}))
            for name in ("number", "feet", "timecode")
        ]
        for index, cell in enumerate(row.cells):
            for name, other in cells_otherwise(cell):
                others.append((name, replace(row, cells=(*row.cells[:index], other, *row.cells[index + 1 :]))))
        assert {field.name for field in fields(row)} == {"frame", "number", "feet", "timecode", "cells"}
        for name, other in others:
            tried += 1
            assert stamp_of(job, (*rows[:place], other, *rows[place + 1 :])) != stamp, (row.frame, name)
    assert tried > 48 * 2 * 9
    for name, value in {"production": "x", "scene": "x", "shot": "x", "rate": Fraction(7), "alerts": ("x",)}.items():
        assert stamp_of(replace(job, **{name: value}), rows) != stamp
    assert stamp_of(replace(job, characters=job.characters[::-1]), rows) != stamp


def test_labels_are_the_studios_own(make_job, read):
    words = {"frame": "záběr", "shot": "obraz {shot}", "off_camera": "mimo kameru", "page": "strana {page} z {pages}"}
    job = make_job(6, frames=120, characters=1, settings=SheetSettings(words=words, columns=("frame", "character")))
    job = replace(job, shot="030")
    printed = {text.text for _, _, texts in read(sheet(job)) for text in texts}
    assert {"záběr", "obraz 030"} < printed
    assert any(text.startswith("strana 1 z ") for text in printed)
    with pytest.raises(ValueError, match=r"found 'obraz \{scene\}'; this message has \{shot\}"):
        SheetSettings(words={"shot": "obraz {scene}"})
    with pytest.raises(ValueError, match="this message has no braces"):
        SheetSettings(words={"frame": "{"})
