"""The state of the production: hand-counted on the sample, then after each thing that changes it."""

from __future__ import annotations

import json
import re
from dataclasses import replace
from itertools import pairwise
from pathlib import Path

import pytest
from pypdfium2 import PdfDocument

from lipsync.app.hear.heard import Only
from lipsync.app.index.production_index import ProductionIndex
from lipsync.app.overview import Overview, not_done_of, overview, write_overview
from lipsync.app.renew.renewing import Renewing
from lipsync.breakdown import breakdown_file
from lipsync.breakdown.kept import Computation
from lipsync.errors import ExitCode
from lipsync.floor import prints, record_file
from lipsync.floor.locking import lock
from lipsync.model import UntoldVoice
from lipsync.paper.marks import Box, Rule, Text
from lipsync.paper.overview_page import STAGES, OverviewJob, SceneBars, ShotBar, overview_page
from lipsync.paper.page_forms import LEAST_PT, MARGIN_Y_MM, PAPER
from lipsync.paper.pdf import draw
from lipsync.production.loading import open_production
from tests.paper.conftest import texts_of
from tests.running import run


def state_of(folder: Path) -> Overview:
    production = open_production(folder)
    with ProductionIndex(folder) as index:
        return overview(production, index)


def printed(folder: Path) -> None:
    production = open_production(folder)
    with ProductionIndex(folder) as index:
        Renewing(production, index).sheets(Only())


def test_what_is_heard(sample: Path) -> None:
    """The sample has 11 lines in 4 shots of 2 scenes; all are heard once."""
    state = state_of(sample)
    whole = state.whole
    assert (whole.shots, whole.lines, whole.heard, whole.checked, whole.printed, whole.filmed) == (4, 11, 11, 0, 0, 0)
    assert whole.to_print == 4
    frames = sum(shot.frames for _, shot in open_production(sample).shots())
    assert (whole.frames, whole.seconds_to_do) == (frames, round(frames / 24, 2))
    assert whole.days_to_do == round(frames / 24 / 2.0, 1)  # two seconds a day, if production.toml says nothing
    assert [one.name for one in state.scenes] == ["01-lamp-room", "02-post-office"]
    assert sum(one.lines for one in state.scenes) == sum(one.lines for one in state.characters) == 11
    assert {one.stage for one in state.shots} <= {"heard", "doubtful"}
    assert state == state_of(sample)  # from the index, too


def test_how_far_each_shot_is(sample: Path) -> None:
    (sample / "breakdowns/02-post-office/030-a.toml").unlink()
    stages = {one.shot: one.stage for one in state_of(sample).shots}
    assert stages["030"] == "to_do"
    for path in (sample / "breakdowns/01-lamp-room").glob("020-*.toml"):
        path.write_text(path.read_text("utf-8").replace("checked = false", "checked = true"), "utf-8")
    state = state_of(sample)
    assert next(one for one in state.shots if one.shot == "020").stage == "checked"
    assert state.whole.checked == sum(one.line.startswith("020") for shot in state.shots for one in shot.lines)


def test_a_print_is_good_until_something_changes(sample: Path) -> None:
    for path in (sample / "breakdowns").glob("*/*.toml"):
        path.write_text(path.read_text("utf-8").replace("checked = false", "checked = true"), "utf-8")
    printed(sample)
    state = state_of(sample)
    assert [(one.revision, one.good, one.stage) for one in state.shots] == [("A", True, "printed")] * 4
    assert (state.whole.printed, state.whole.to_print) == (4, 0)
    path = sample / "breakdowns/01-lamp-room/010-a.toml"
    path.write_text(path.read_text("utf-8") + "\n", "utf-8")
    assert [one.good for one in state_of(sample).shots].count(False) >= 1
    shot = next(shot for _, shot in open_production(sample).shots() if shot.id == "040")
    lock(open_production(sample), "040", (1, shot.frames))
    state = state_of(sample)
    assert next(one for one in state.shots if one.shot == "040").stage == "filmed"
    assert (state.whole.filmed, state.whole.seconds_done) == (shot.frames, round(shot.frames / 24, 2))


def test_a_print_stays_good_when_frames_of_it_are_in_the_can_and_when_they_fit_their_sound_no_more(
    sample: Path,
) -> None:
    printed(sample)
    lock(open_production(sample), "010", (1, 20), wore=("3-9=OPEN2",))
    assert [one.good for one in state_of(sample).shots] == [True] * 4
    assert state_of(sample).whole.to_print == 0
    done = run("sheet", sample, "--shot", "010")
    assert "does not fit the sound" in done.err  # it is told about each time, so its sheet is never kept as known
    assert state_of(sample).whole.to_print == 0


def test_a_print_of_which_a_frame_to_film_changes_is_not_good(sample: Path) -> None:
    printed(sample)
    lock(open_production(sample), "010", (1, 20))
    put = run("sheet", sample)
    assert put.code == 0
    scene = sample / "scenes/01-lamp-room.toml"
    text = scene.read_text("utf-8")
    scene.write_text(text.replace("frames = 192", "frames = 191", 1), "utf-8")
    assert [one.good for one in state_of(sample).shots] == [False, True, True, True]
    scene.write_text(text, "utf-8")
    assert [one.good for one in state_of(sample).shots] == [True] * 4


@pytest.mark.parametrize("command", ["sheet", "breakdown"])
def test_lines_that_could_not_be_done_are_counted_with_why_until_they_can(sample: Path, command: str) -> None:
    silent, gone = (sample / f"recordings/{line}.wav" for line in ("020-c", "010-a"))
    was = silent.read_bytes()
    silent.write_bytes(was[:44] + bytes(len(was) - 44))
    gone.rename(gone.with_suffix(".away"))
    (sample / "breakdowns/01-lamp-room/020-c.toml").unlink()
    told = run(command, sample)
    assert told.code == ExitCode.PARTLY
    if command == "breakdown":
        rows = [row.split() for row in told.out.splitlines() if row.endswith("not done")]
        assert rows == [
            ["01-lamp-room", "010", "010-a", "not", "done"],
            ["01-lamp-room", "020", "020-c", "not", "done"],
        ]
    state = state_of(sample)
    assert state.whole.not_done == 2
    why = {one.line: one.what for one in not_done_of(state)}
    assert set(why) == {"020-c", "010-a"}
    assert "does not exist" in why["010-a"]
    assert "only silence" in why["020-c"]
    silent.write_bytes(was)
    assert {one.line for one in not_done_of(state_of(sample))} == {"010-a"}
    gone.with_suffix(".away").rename(gone)
    assert run(command, sample).code == ExitCode.DONE
    assert (state_of(sample).whole.not_done, state_of(sample).whole.heard) == (0, 11)


def test_a_line_of_which_a_newer_computation_waits_is_heard_and_asks_for_a_person(sample: Path) -> None:
    path, scene = sample / "breakdowns/01-lamp-room/020-c.toml", sample / "scenes/01-lamp-room.toml"
    kept = breakdown_file.read(path)
    said = "The foot is blue."
    newer = Computation(replace(kept.source, text=said), replace(kept.computed, text=said), "listen 9")
    breakdown_file.write(path, replace(kept, newer=newer))
    was = scene.read_text("utf-8")
    scene.write_text(was.replace("Oops. My foot is blue.", said), "utf-8")
    assert scene.read_text("utf-8") != was
    (line,) = (line for shot in state_of(sample).shots for line in shot.lines if line.line == "020-c")
    assert (line.heard, line.doubtful) == (True, True)


def test_prints_are_good_however_the_folder_is_named_also_where_something_is_told(
    sample: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    path = sample / "breakdowns/01-lamp-room/010-b.toml"
    kept = breakdown_file.read(path)
    untold = replace(kept.computed, voice_without_text=(UntoldVoice(0, 200_000),))
    breakdown_file.write(path, replace(kept, computed=untold))
    printed(sample)
    monkeypatch.chdir(sample)
    for name in (sample, Path(), Path(f"../{sample.name}")):
        assert state_of(name).whole.to_print == 0, name


def test_prints_and_records_are_read_once(sample: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    printed(sample)
    lock(open_production(sample), "010", (1, 20))
    first = state_of(sample)
    assert [(one.revision, one.filmed) for one in first.shots] == [("A", 20), ("A", 0), ("A", 0), ("A", 0)]
    read = []
    for place in (prints, record_file):
        monkeypatch.setattr(place, "read", lambda path, real=place.read: read.append(path.stem) or real(path))
    assert state_of(sample) == first
    assert read == []
    lock(open_production(sample), "010", (21, 30))
    read.clear()
    assert [one.filmed for one in state_of(sample).shots] == [30, 0, 0, 0]
    assert set(read) == {"010"}


def test_a_shot_that_is_shorter_than_what_is_filmed_of_it_is_told(sample: Path) -> None:
    printed(sample)
    lock(open_production(sample), "010", (1, 192))
    scene = sample / "scenes/01-lamp-room.toml"
    scene.write_text(scene.read_text("utf-8").replace("frames = 192", "frames = 190", 1), "utf-8")
    done = run("overview", sample)
    assert done.code == 4
    assert "frames 191 to 192" in done.err
    rows = [line.split() for line in run("filmed", sample).out.splitlines()]
    assert rows[0][2:6] == ["frames", "filmed", "to", "film"]
    assert rows[1][:5] == ["01-lamp-room", "010", "190", "192", "0"]


def test_a_text_that_was_changed_is_not_heard(sample: Path) -> None:
    scene = sample / "scenes/01-lamp-room.toml"
    text = scene.read_text("utf-8")
    scene.write_text(re.sub(r'(id = "010-a"(?:\n.*?)*?text = ")', r"\1Well, ", text, count=1), "utf-8")
    assert scene.read_text("utf-8") != text
    state = state_of(sample)
    assert (state.whole.lines, state.whole.heard) == (11, 10)
    assert next(one for one in state.shots if one.shot == "010").stage == "to_do"


def test_a_broken_breakdown_is_told_and_the_rest_is_counted(sample: Path) -> None:
    (sample / "breakdowns/01-lamp-room/010-a.toml").write_text("form = 3")
    state = state_of(sample)
    assert {one.line for one in state.report.problems} == {"010-a"}
    assert state.whole.heard == 10


def test_the_command(sample: Path) -> None:
    told = run("overview", sample, "--json", "--page")
    answer = json.loads(told.out)
    assert answer["form"] == "lipsync overview answer 1"
    assert answer["whole"]["lines"] == 11
    assert len(answer["shots"]) == 4
    assert Path(answer["files"][0]).read_bytes().startswith(b"%PDF")
    assert "Low Tide Post" in run("overview", sample).out


@pytest.mark.parametrize("page", ["A4", "Letter"])
@pytest.mark.parametrize("shots", [[1], [40, 3], [10] * 80, [0, 2000]])
def test_all_bars_stand_on_one_page_in_their_order(shots: list[int], page: str) -> None:
    stages = list(STAGES)
    scenes = tuple(
        SceneBars(f"{n:02}", "A scene of the film", tuple(ShotBar(f"{k}", stages[k % 6]) for k in range(many)))
        for n, many in enumerate(shots)
    )
    (only,) = overview_page(OverviewJob("Low Tide Post", scenes, (1, 1, 0, 0, 0, 0, 2), page=page)).pages
    width_mm, height_mm = PAPER[page]
    boxes = [mark for mark in only.marks if isinstance(mark, Box)][len(STAGES) :]
    assert [box.fill for box in boxes] == [STAGES[stages[k % 6]] for many in shots for k in range(many)]
    assert len({(box.x_mm, box.y_mm) for box in boxes}) == sum(shots)
    assert all(box.x_mm + box.width_mm <= width_mm - 7 for box in boxes)
    assert all(box.y_mm + box.height_mm <= height_mm - MARGIN_Y_MM + 0.01 for box in boxes)


@pytest.mark.parametrize(
    ("shots", "named", "below"),
    [
        ([1], "7", True),
        ([40, 3], "0070", True),
        ([20] * 10, "070", True),
        ([10] * 80, "070", False),
        ([0, 2000], "7", False),
        ([40, 3], "a-shot-with-a-very-long-name", True),
        ([20] * 10, "a-shot-with-a-very-long-name", False),
    ],
)
def test_shots_are_named_below_their_bars_or_at_least_before_each_row(
    shots: list[int], named: str, below: bool
) -> None:
    scenes = tuple(SceneBars(f"{n}", "Lamps", (ShotBar(named, "heard"),) * many) for n, many in enumerate(shots))
    document = overview_page(OverviewJob("Low Tide Post", scenes, (1, 1, 0, 0, 0, 0, 2)))
    boxes = [mark for mark in document.pages[0].marks if isinstance(mark, Box)][len(STAGES) :]
    (page,) = PdfDocument(draw(document))
    names = [text for text in texts_of(page) if text.text == named or named.startswith(text.text.rstrip("…"))]
    assert all(one.size >= LEAST_PT - 0.01 for one in names)
    if below:
        for box, one in zip(boxes, names, strict=True):
            assert box.x_mm - 1 < one.left < one.right < box.x_mm + box.width_mm + 1
            assert 0 < one.baseline - box.y_mm - box.height_mm < 3
        assert all(a.right < b.left or a.baseline < b.baseline for a, b in pairwise(names))
    else:
        firsts = [box for box in boxes if box.x_mm == boxes[0].x_mm]
        for box, one in zip(firsts, names, strict=True):
            assert one.right < box.x_mm
            assert box.y_mm - 1 < one.top < one.bottom < box.y_mm + box.height_mm + 1


@pytest.mark.parametrize(("scenes", "pages"), [(1, 1), (85, 1), (100, 2), (216, 3)])
def test_where_there_are_more_scenes_than_rows_there_are_more_pages(scenes: int, pages: int) -> None:
    bars = tuple(SceneBars(f"{n}", f"Scene {n}", (ShotBar("010", "heard"),) * 4) for n in range(scenes))
    document = overview_page(OverviewJob("Low Tide Post", bars, (1, 1, 0, 0, 0, 0, 2)))
    made = PdfDocument(draw(document))
    assert len(made) == pages
    named = [[text for text in texts_of(page) if text.text.startswith("Scene ")] for page in made]
    assert [text.text for names in named for text in names] == [f"Scene {n}" for n in range(scenes)]
    for names in named:
        assert all(a.bottom <= b.top + 0.4 for a, b in pairwise(names))
    for page in document.pages:
        boxes = [mark for mark in page.marks if isinstance(mark, Box)][len(STAGES) :]
        assert all(box.height_mm > 1.4 and box.width_mm >= 1.4 for box in boxes)


def test_a_bar_is_black_as_far_as_its_shot_is_filmed() -> None:
    bars = tuple(
        ShotBar(f"{k}0", stage, part)
        for k, (stage, part) in enumerate([("printed", 0.25), ("doubtful", 0.5), ("heard", 0)])
    )
    (page,) = overview_page(OverviewJob("Low Tide Post", (SceneBars("01", "", bars),), (3, 3, 1, 0, 0, 1, 2))).pages
    boxes = [mark for mark in page.marks if isinstance(mark, Box)][len(STAGES) :]
    assert [box.fill for box in boxes] == [STAGES["printed"], 0, STAGES["doubtful"], 0, STAGES["heard"]]
    for whole, part, filmed in ((boxes[0], boxes[1], 0.25), (boxes[2], boxes[3], 0.5)):
        assert part.height_mm == pytest.approx(whole.height_mm * filmed)
        assert part.y_mm + part.height_mm == pytest.approx(whole.y_mm + whole.height_mm)
        assert (part.x_mm, part.width_mm) == (whole.x_mm, whole.width_mm)


def test_a_doubtful_shot_has_a_diagonal_that_is_seen_on_its_grey() -> None:
    stages = [("doubtful", 0.0), ("printed", 1.0), ("to_do", 0.0)]
    bars = tuple(ShotBar(f"{k}0", stage, doubtful=True) for k, (stage, _) in enumerate(stages))
    bars = (*bars, ShotBar("40", "printed"), ShotBar("50", "filmed", 1, doubtful=True))
    (page,) = overview_page(OverviewJob("Low Tide Post", (SceneBars("01", "", bars),), (3, 3, 1, 0, 0, 1, 2))).pages
    boxes = [mark for mark in page.marks if isinstance(mark, Box)][len(STAGES) :]
    rules = [mark for mark in page.marks if isinstance(mark, Rule) and mark.x1_mm != mark.x2_mm][-3:]
    assert [rule.grey for rule in rules] == [grey for _, grey in stages]
    assert [(rule.x1_mm, rule.y2_mm) for rule in rules] == [(box.x_mm, box.y_mm) for box in boxes[:3]]


def test_a_printed_shot_with_a_doubtful_word_is_printed_and_doubtful(sample: Path) -> None:
    printed(sample)
    shots = {one.shot: (one.stage, one.asks) for one in state_of(sample).shots}
    assert shots == {
        "010": ("printed", False),
        "020": ("printed", False),
        "030": ("printed", False),
        "040": ("printed", True),
    }


@pytest.mark.parametrize("not_done", [0, 3])
def test_lines_not_done_are_told_first_on_the_page(not_done: int) -> None:
    (page,) = overview_page(OverviewJob("Low Tide Post", (), (11, 8, 1, 0, not_done, 4, 33))).pages
    (sums,) = (mark.text for mark in page.marks if isinstance(mark, Text) and "11 lines" in mark.text)
    assert sums.startswith("lines not done: 3 · 11 lines: 8 heard" if not_done else "11 lines: 8 heard")


def test_greys_are_told_apart() -> None:
    greys = sorted(STAGES.values())
    assert min(b - a for a, b in pairwise(greys)) > 0.15


def test_the_page_is_the_same_on_any_day(sample: Path, tmp_path: Path) -> None:
    production = open_production(sample)
    state = state_of(sample)
    first = write_overview(production, state, tmp_path / "a").read_bytes()
    assert write_overview(production, state, tmp_path / "b").read_bytes() == first
