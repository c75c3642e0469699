"""What changed, as rows and in words. The sentences are worked out by hand from what was changed."""

from __future__ import annotations

import random
import re
from dataclasses import replace

import pytest

from lipsync.floor.cell_changes import cell_changes
from lipsync.floor.change_words import records_of, sentence_of
from lipsync.floor.changes import Change
from lipsync.floor.comparing import AROUND, changed_rows, changes
from lipsync.floor.revising import change_pages
from lipsync.floor.state import SheetState
from lipsync.paper.marks import Text
from lipsync.paper.rows import Cell
from lipsync.paper.sheet_words import Words
from lipsync.production.production_tables import OnCamera
from tests.floor.build import (
    SPOKEN,
    WORDS,
    breakdown_of,
    planned,
    production_of,
    state_of_plan,
    the_plan,
    with_shot,
)

FRAME_US = 41_667


def state(production, spoken=None, shift_us=0) -> SheetState:
    return state_of_plan(production, the_plan(planned(production, spoken, shift_us)))


def sentences(before: SheetState, after: SheetState) -> list[str]:
    return [sentence_of(change, Words(), after.facts.first_frame) for change in changes(before, after)]


def of_words(before: SheetState, after: SheetState) -> list[str]:
    """What is told of words: which pieces come with them is the fitting's."""
    return [text for text in sentences(before, after) if not re.search(r"modelling|new piece|is put on", text)]


@pytest.fixture
def production(tmp_path):
    return production_of(tmp_path)


def test_nothing(production) -> None:
    assert changes(state(production), state(production)) == ()
    assert changed_rows(state(production), state(production)) == frozenset()


@pytest.mark.parametrize(("frames", "by"), [(1, "1 frame"), (2, "2 frames"), (9, "9 frames")])
def test_a_line_that_moves_is_one_sentence(production, frames, by) -> None:
    """“mind the paint” begins on frame 5: 4 + 2 + 4 phonemes of 70 ms, 16.8 frames, end on frame 21."""
    line = production.scenes[0].shots[0].line
    later = with_shot(production, line=(line[0].model_copy(update={"begins": 5 + frames}), line[1]))
    told = of_words(state(production), state(later))
    assert told == [
        f"frames {5 + frames} to {21 + frames}, Zoë Wade: “mind the paint” moved {by} later; was at frames 5 to 21"
    ]
    told = of_words(state(later), state(production))
    assert told == [
        f"frames 5 to 21, Zoë Wade: “mind the paint” moved {by} earlier; was at frames {5 + frames} to {21 + frames}"
    ]


def test_what_to_model_is_told(production) -> None:
    """The rest after the line is a long hold: where it is kept alive moves with it."""
    line = production.scenes[0].shots[0].line
    later = with_shot(production, line=(line[0].model_copy(update={"begins": 7}), line[1]))
    told = [text for text in sentences(state(production), state(later)) if "keep alive" in text]
    *_, rest = the_plan(planned(production)).cast[0].track.fittings
    assert rest.code == "REST"
    # A hold is kept alive from its 13th frame on; it begins two frames later, as the line does.
    alive = rest.frame + 12 + production.file.first_frame
    assert told == [
        f"frame {alive}, Zoë Wade: modelling: none, was keep alive",
        f"frame {alive + 2}, Zoë Wade: modelling: keep alive, was none",
    ]


def test_new_words_are_told_with_the_old_ones(production) -> None:
    spoken = {**SPOKEN, "010-a": breakdown_of(["mind", "the", "boats"])}
    told = sentences(state(production), state(production, spoken))
    # B OW T S begins where P EY N T began: 6 phonemes after frame 5, 420 ms, on frame 15.
    assert "frames 15 to 21, Zoë Wade: new words “boats”, were “paint”" in told
    assert all("Mr Clamp" not in text for text in told)


def test_words_that_come_and_go(production) -> None:
    spoken = {**SPOKEN, "010-a": breakdown_of(["mind", "the"])}
    before, after = state(production), state(production, spoken)
    assert "frames 15 to 21, Zoë Wade: words gone: “paint”" in sentences(before, after)
    assert "frames 15 to 21, Zoë Wade: new words “paint”" in sentences(after, before)


def test_another_piece_is_told_with_the_old_one(production) -> None:
    before = state(production)
    rows = list(before.rows)
    cell = rows[0].cells[0]
    rows[0] = replace(rows[0], cells=(replace(cell, piece="OPEN1"), *rows[0].cells[1:]))
    rows[1] = replace(rows[1], cells=(replace(rows[1].cells[0], fitted=True), *rows[1].cells[1:]))
    after = replace(before, rows=tuple(rows), stamp="other")
    assert cell.piece != "OPEN1"
    assert f"frame 1, Zoë Wade: new piece OPEN1, was {cell.piece}" in sentences(before, after)
    assert changed_rows(before, after) == {0, 1}


def test_the_shot_the_film_and_the_cast(production) -> None:
    longer = with_shot(production, frames=80)
    assert sentences(state(production), state(longer)) == ["frames 73 to 80: the shot has 80 frames, had 72"]
    assert changed_rows(state(production), state(longer)) == set(range(72, 80))
    assert sentences(state(longer), state(production)) == ["frame 72: the shot has 72 frames, had 80"]
    file = production.file.model_copy(update={"first_frame": 1001, "title": "High Tide Post"})
    line = [one.model_copy(update={"begins": one.begins + 1000}) for one in production.scenes[0].shots[0].line]
    other = with_shot(replace(production, file=file), line=tuple(line))
    assert sentences(state(production), state(other)) == [
        "frames 1001 to 1072: the title is High Tide Post, was Low Tide Post",
        "frames 1001 to 1072: frames are numbered from 1001, were from 1",
    ]
    alone = with_shot(production, line=production.scenes[0].shots[0].line[:1])
    assert sentences(state(alone), state(production)) == ["frames 1 to 72, Mr Clamp: is new on this sheet"]
    assert sentences(state(production), state(alone)) == ["frames 1 to 72, Mr Clamp: is no longer on this sheet"]
    cast = dict(reversed(production.file.characters.items()))
    turned = replace(production, file=production.file.model_copy(update={"characters": cast}))
    assert sentences(state(production), state(turned)) == [
        "frames 1 to 72: the columns are Mr Clamp, Zoë Wade, were Zoë Wade, Mr Clamp"
    ]


def test_off_camera_is_told(production) -> None:
    away = with_shot(production, characters={"heron": OnCamera(on_camera=((1, 60),))})
    assert "frames 61 to 72, Zoë Wade: off camera, was REST" in sentences(state(production), state(away))


def test_timecode(production) -> None:
    later = with_shot(production, start="01:00:00:00")
    assert sentences(state(production), state(later)) == [
        "frames 1 to 72: timecode begins at 01:00:00:00, began at 00:00:00:00"
    ]


def test_a_doubt_is_told(production) -> None:
    unsure = replace(
        SPOKEN["010-a"],
        parts=tuple(replace(p, confidence=0.1) for p in SPOKEN["010-a"].parts[:1]) + SPOKEN["010-a"].parts[1:],
    )
    spoken = {**SPOKEN, "010-a": unsure}
    assert sentences(state(production), state(production, spoken)) == [
        "frame 5, Zoë Wade: “mind” is doubtful: ask before filming"
    ]
    assert sentences(state(production, spoken), state(production)) == [
        "frame 5, Zoë Wade: “mind” is no longer doubtful"
    ]


def test_a_studio_tells_it_in_its_own_words(production) -> None:
    words = Words(change_later="« {now} » {by} plus tard (avant : {was})", some_frames="{count} images")
    change = Change("moved", 6, 9, "Zoë Wade", now="mind", by=(2, 3), also=(4, 7))
    assert sentence_of(change, words, 1).endswith("« mind » 2 to 3 images plus tard (avant : frames 5 to 8)")
    (record,) = records_of([change], words, 1)
    assert (record["first"], record["last"], record["moved_frames"]) == (7, 10, [2, 3])


def test_every_row_that_differs_is_told_and_nothing_is_told_of_equal_states(tmp_path) -> None:
    """Random pairs of states: a stamp differs exactly where something is told, and what is told covers all rows."""
    dice = random.Random(5)
    states = []
    for _ in range(24):
        spoken = {
            line: breakdown_of(
                [dice.choice(["mind", "the", "paint", "lamp"]) for _ in range(dice.randint(1, 4))],
                dice.choice([0, 0, 300_000]),
                dice.choice([60_000, 70_000, 80_000]),
            )
            for line in ("010-a", "010-b")
        }
        production = production_of(tmp_path, frames=dice.choice([72, 72, 72, 60]))
        states.append(state(production, spoken, dice.choice([0, FRAME_US, 2 * FRAME_US, 130_000])))
    assert set(WORDS) > {"mind", "the", "paint", "lamp"}
    told_of = 0
    for before in states:
        for after in states:
            found = changes(before, after)
            assert bool(found) == (before.stamp != after.stamp)
            assert bool(changed_rows(before, after)) <= bool(found)
            covered: set[int] = set()
            for change in found:
                around = AROUND if change.kind == "moved" else 0
                for first, last in change.spans:
                    covered.update(range(first - around, last + around + 1))
                assert sentence_of(change, Words(), 1)
                assert 0 <= change.first <= change.last < len(after.rows)
            assert changed_rows(before, after) <= covered
            told_of += len(found)
    assert told_of > 1000


def test_what_must_be_known_before_filming_is_told_when_it_comes_and_when_it_goes(production) -> None:
    before, text = state(production), "Line 010-a is missing here."
    after = replace(before, alerts=(text,))
    assert sentences(before, after) == [f"frames 1 to 72: before you film: {text}"]
    assert sentences(after, before) == [f"frames 1 to 72: no longer so: {text}"]


def test_a_sound_that_is_not_seen_is_said_once_and_has_no_piece_that_is_there_for_it(production) -> None:
    """Frames 5 and 6 were there for V and are there for AH, which is not seen: one sentence, not two at odds."""
    was, now = cell("V", ()), cell("AH1", ("AH1",))
    found = [*cell_changes("Zoë Wade", [was] * 8, [was] * 4 + [now, replace(now, lost=())] + [was] * 2, ())]
    told = [sentence_of(change, Words(), 1) for change in found]
    assert told == ["frames 5 to 6, Zoë Wade: AH is not seen"]


def cell(serves: str, lost: tuple[str, ...]) -> Cell:
    return Cell((), runs=True, phonemes=(), piece="TUCK", fitted=False, serves=serves, lost=lost)


def test_all_that_changed_in_one_place_stands_on_one_line(make_job) -> None:
    job = make_job(1, frames=24, characters=1)
    found = [
        Change("piece", 4, 4, "Zoë Wade", "SHUT", "REST"),
        Change("beat", 4, 4, "Zoë Wade"),
        Change("beat", 9, 9),
    ]
    (page,) = change_pages(replace(job, first_frame=1), "ABC-DE-FGH", "What changed", found)
    told = [mark.text for mark in page.marks if isinstance(mark, Text)]
    assert "new piece SHUT, was REST; a strong beat" in told
    assert [text for text in told if text.startswith("frame ") and "24" not in text] == ["frame 5", "frame 10"]
