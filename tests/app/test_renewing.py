"""Nothing is done twice: what is unchanged is not read, heard, planned nor printed, and files alone are trusted."""

from __future__ import annotations

import os
import shutil
import sqlite3
import time
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

import pytest
from typer.testing import CliRunner

from lipsync.app.cli import app_of
from lipsync.app.decide.deciding import with_character
from lipsync.app.hear import line_hearing
from lipsync.app.hear.heard import Only, ToMeasure
from lipsync.app.hear.hearing import hear
from lipsync.app.index import production_index
from lipsync.app.index.production_index import FOLDER, ProductionIndex, code_of_bytes
from lipsync.app.plan import planning
from lipsync.app.plan.jobs import jobs_of
from lipsync.app.print import printing
from lipsync.app.renew.renewing import Renewing, hear_needed
from lipsync.app.renew.standing_answer import StandingAnswer, keep_answer, now_ns, part_of, standing_answer
from lipsync.app.work.processes import Processes
from lipsync.app.work.workers import Workers
from lipsync.breakdown import breakdown_file
from lipsync.floor.locking import lock
from lipsync.message import Message, Where
from lipsync.model import UntoldVoice
from lipsync.production.loading import open_production
from lipsync.report import Report
from tests.app.conftest import Listener

Calls = dict[str, list[str]]


@pytest.fixture
def calls(monkeypatch: pytest.MonkeyPatch) -> Calls:
    """What is read, fitted and drawn."""
    told: Calls = {"read": [], "fitted": [], "drawn": []}

    def counted(place: object, name: str, kind: str, called: Callable[..., str]) -> None:
        real = getattr(place, name)

        def call(*arguments: object) -> object:
            told[kind].append(called(*arguments))
            return real(*arguments)

        monkeypatch.setattr(place, name, call)

    counted(line_hearing, "recording_of", "read", lambda _, placed, *_carried: placed.line.id)
    counted(planning, "fit", "fitted", lambda job: job.character)
    counted(printing, "draw_sheet", "drawn", lambda task: task.revised.job.shot)
    return told


def sheets(folder: Path, only: Only | None = None) -> StandingAnswer:
    production = open_production(folder)
    with ProductionIndex(folder) as index:
        return Renewing(production, index).sheets(only or Only())


def aged(folder: Path) -> None:
    """Let every file be a minute old, so that its times tell whether it changes."""
    past = time.time() - 60
    for path in folder.rglob("*"):
        if path.is_file():
            os.utime(path, (past, past))


def files(folder: Path) -> dict[str, tuple[bytes, int]]:
    paths = (path for path in folder.rglob("*") if path.is_file() and FOLDER not in path.parts)
    return {str(path.relative_to(folder)): (path.read_bytes(), path.stat().st_mtime_ns) for path in paths}


def forget(calls: Calls) -> None:
    for one in calls.values():
        one.clear()


def test_all_again_does_nothing_and_says_the_same(sample: Path, calls: Calls) -> None:
    first = sheets(sample)
    assert len(calls["read"]) == 11
    assert sorted(calls["drawn"]) == ["010", "020", "030", "040"]
    forget(calls)
    aged(sample)
    before = files(sample)
    assert sheets(sample) == first
    assert calls == {"read": [], "fitted": [], "drawn": []}
    assert files(sample) == before


def test_it_is_the_same_production_however_its_folder_is_named(
    sample: Path, calls: Calls, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Only of lines of which something is told, the words name the folder: these are read again."""
    path = sample / "breakdowns/02-post-office/040-d.toml"
    kept = breakdown_file.read(path)
    untold = replace(kept.computed, voice_without_text=(UntoldVoice(0, 200_000),))
    breakdown_file.write(path, replace(kept, computed=untold))
    aged(sample)
    first = sheets(sample)
    forget(calls)
    for name in (".", str(sample), f"../{sample.name}"):
        monkeypatch.chdir(sample)
        again = sheets(Path(name))
        assert calls == {"read": ["040-d"], "fitted": [], "drawn": []}, name
        assert [path.resolve() for path in again.paths] == [path.resolve() for path in first.paths]
        (told,) = again.report.messages
        assert told.file == str(Path(name, "scenes/02-post-office.toml"))
        forget(calls)


def test_a_recording_beside_a_production_that_is_reached_by_a_link_is_seen_to_change(
    sample: Path, tmp_path: Path, calls: Calls
) -> None:
    """`link/../sounds` is beside what the link leads to, not beside the link."""
    real, link = tmp_path / "real" / "post", tmp_path / "link"
    shutil.copytree(sample, real)
    (real / "recordings").rename(real.parent / "sounds")
    for scene in (real / "scenes").glob("*.toml"):
        scene.write_text(scene.read_text("utf-8").replace('"recordings/', '"../sounds/'), "utf-8")
    link.symlink_to(real, target_is_directory=True)
    aged(tmp_path)
    sheets(link)
    forget(calls)
    sheets(real)
    assert calls["read"] == []
    sounds = real.parent / "sounds"
    shutil.copy(sounds / "020-c.wav", sounds / "010-b.wav")
    sheets(link)
    assert "010-b" in calls["read"]


@pytest.mark.parametrize(
    ("command", "pitched"), [("sheet", True), ("track", True), ("count", False), ("order", False)]
)
def test_pitches_are_measured_where_beats_are_shown(
    sample: Path, monkeypatch: pytest.MonkeyPatch, command: str, pitched: bool
) -> None:
    asked: list[int] = []
    real = line_hearing.pitches_hz
    monkeypatch.setattr(line_hearing, "pitches_hz", lambda *given: asked.append(len(given)) or real(*given))
    assert CliRunner().invoke(app_of(), [command, str(sample)]).exit_code == 0
    assert bool(asked) is pitched


def test_only_what_changes_is_done(sample: Path, calls: Calls) -> None:
    sheets(sample)
    forget(calls)
    scene = sample / "scenes" / "02-post-office.toml"
    text = scene.read_text("utf-8")
    scene.write_text(text.replace('id = "040"\nframes = ', 'id = "040"\nframes = 1', 1), "utf-8")
    assert scene.read_text("utf-8") != text
    sheets(sample)
    assert calls["drawn"] == ["040"]


def test_what_no_sheet_says_has_none_looked_at_again(sample: Path, calls: Calls) -> None:
    """What making costs, and what the headings of lists mean: no sheet shows either."""
    sheets(sample)
    forget(calls)
    path = sample / "production.toml"
    more = '[making]\ncurrency = "EUR"\n[taking.headings]\nZeile = "line"\n'
    path.write_text(path.read_text("utf-8") + more, "utf-8")
    sheets(sample)
    assert calls["fitted"] == calls["drawn"] == []


@pytest.mark.parametrize("how", ["gone", "other", "touched"])
def test_a_sheet_is_as_it_was_or_printed_again(sample: Path, calls: Calls, how: str) -> None:
    sheets(sample)
    path = sample / "sheets/02-post-office/030.pdf"
    content = path.read_bytes()
    forget(calls)
    if how == "gone":
        path.unlink()
    elif how == "other":
        path.write_bytes(content[:-1] + b"?")
    else:
        os.utime(path)
    sheets(sample)
    assert path.read_bytes() == content
    assert calls["drawn"] == ([] if how == "touched" else ["030"])


def test_a_correction_is_planned_anew(sample: Path, calls: Calls) -> None:
    sheets(sample)
    forget(calls)
    path = sample / "breakdowns/01-lamp-room/020-b.toml"
    text = path.read_text("utf-8")
    path.write_text(text.replace("checked = false", "checked = true"), "utf-8")
    assert path.read_text("utf-8") != text
    sheets(sample)
    assert calls["read"] == ["020-b"] or set(calls["read"]) <= {line for line in calls["read"] if line[:3] == "020"}
    assert calls["drawn"] == ["020"]


@pytest.mark.parametrize("factor", [1.11, 1.3])
def test_other_words_in_one_line_have_others_read_only_if_the_voice_becomes_another(
    sample: Path, listener: Listener, calls: Calls, factor: float
) -> None:
    shutil.rmtree(sample / "breakdowns")
    (sample / "voices.toml").unlink()
    sheets(sample)
    scene = sample / "scenes" / "01-lamp-room.toml"
    (old,) = (one.text for _, shot in open_production(sample).shots() for one in shot.line if one.id == "020-a")
    scene.write_text(scene.read_text("utf-8").replace(old, "Something else."), "utf-8")
    listener.factors = [factor]
    listener.asked.clear()
    forget(calls)
    sheets(sample)
    if factor == 1.3:
        assert set(calls["read"]) >= {"020-a", "020-c", "030-a", "030-b", "040-b", "040-d"}
        assert dict(listener.asked)["Something else."] == 1.3
    else:
        assert dict(listener.asked)["Something else."] == 1.1
        assert {line[:3] for line in calls["read"]} == {"020"}
        assert calls["drawn"] == ["020"]
    forget(calls)
    sheets(sample)
    assert calls["read"] == []


def test_one_shot_reads_its_own_lines_only(sample: Path, calls: Calls) -> None:
    sheets(sample)
    whole = (sample / "sheets/01-lamp-room/020.pdf").read_bytes()
    (sample / "sheets/01-lamp-room/020.pdf").unlink()
    forget(calls)
    sheets(sample, Only(None, "020"))
    assert {line[:3] for line in calls["read"]} == {"020"}
    assert calls["drawn"] == ["020"]
    assert (sample / "sheets/01-lamp-room/020.pdf").read_bytes() == whole


def test_parts_of_it_say_what_the_whole_says(sample: Path) -> None:
    """The report of a run that does little is that of one that does all."""
    path = sample / "scenes" / "01-lamp-room.toml"
    path.write_text(path.read_text("utf-8").replace("oysters", "oysters [hum]", 1), "utf-8")
    first = sheets(sample)
    again = sheets(sample)
    assert again.report.problems == first.report.problems
    assert [str(one) for one in again.report.messages] == [str(one) for one in first.report.messages]
    assert again.paths == first.paths


@pytest.mark.parametrize("part", ["a scene", "a character"])
def test_a_part_is_asked_for_as_in_the_whole_and_no_more_is_read(sample: Path, calls: Calls, part: str) -> None:
    """What curves, sets and the count of a scene follow from is the same; so is what is said."""
    production = open_production(sample)
    only = Only("02-post-office") if part == "a scene" else with_character(production, "heron")
    whole = hear(production, to_measure=ToMeasure.LEVELS)
    sheets(sample)
    forget(calls)
    heard = hear_needed(production, only)
    assert set(calls["read"]) == {line.id for _, shot in only.shots(production) for line in shot.line}
    assert len(calls["read"]) < 11
    assert jobs_of(production, heard, only) == jobs_of(production, whole, only)
    assert heard.report == whole.report


def test_the_same_bytes_with_two_workers(sample: Path, tmp_path: Path) -> None:
    sheets(sample)
    production = open_production(sample)
    with ProductionIndex(sample) as index, Workers(Processes(2)) as workers:
        renewing = Renewing(production, index, workers=_at_once(workers))
        other = tmp_path / "other"
        renewing.sheets(Only(), other)
    made = {path.relative_to(other): path.read_bytes() for path in other.rglob("*.pdf")}
    assert len(made) == 4
    assert made == {p.relative_to(sample / "sheets"): p.read_bytes() for p in (sample / "sheets").rglob("*.pdf")}


def _at_once(workers: Workers) -> Workers:
    """Start the processes, however little there is to do."""
    list(workers.each(abs, range(2), 1000.0))
    return workers


@pytest.mark.parametrize("content", [b"", b"no index at all" * 100, b"SQLite format 3\0" + b"\xff" * 4000])
def test_a_broken_index_is_thrown_away(sample: Path, calls: Calls, content: bytes) -> None:
    first = sheets(sample)
    path = sample / FOLDER / "index.sqlite"
    path.write_bytes(content)
    forget(calls)
    assert sheets(sample) == first
    assert len(calls["drawn"]) == 4
    forget(calls)
    sheets(sample)
    assert calls["drawn"] == []


def test_an_index_of_another_program_is_thrown_away(sample: Path, calls: Calls) -> None:
    sheets(sample)
    base = sqlite3.connect(sample / FOLDER / "index.sqlite")
    with base:
        base.execute("UPDATE about SET program = 'another'")
    base.close()
    forget(calls)
    sheets(sample)
    assert len(calls["drawn"]) == 4


def test_an_index_that_a_newer_program_began_meanwhile_is_left_alone(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    old = ProductionIndex(tmp_path)
    old.put("line", "020-a", "code", "of the old program")
    monkeypatch.setattr(production_index, "program_state", lambda: "newer")
    with ProductionIndex(tmp_path) as newer:
        newer.put("line", "020-b", "code", "of the newer program")
    monkeypatch.undo()
    old.write()
    monkeypatch.setattr(production_index, "program_state", lambda: "newer")
    again = ProductionIndex(tmp_path)
    assert again.get("line", "020-a", "code") is None
    assert again.get("line", "020-b", "code") == "of the newer program"


def test_where_no_index_can_be_written_all_is_done(sample: Path, calls: Calls) -> None:
    (sample / FOLDER).write_text("a file stands here")
    first = sheets(sample)
    assert len(first.paths) == 4
    assert (sample / FOLDER).read_text() == "a file stands here"


def test_files_are_trusted_over_the_index(tmp_path: Path) -> None:
    path = tmp_path / "file"
    path.write_bytes(b"one")
    with ProductionIndex(tmp_path) as index:
        assert index.code(path) == code_of_bytes(b"one")
    path.write_bytes(b"two")  # as long, in the same moment
    with ProductionIndex(tmp_path) as index:
        assert index.code(path) == code_of_bytes(b"two")
    # A clock that goes back, or a file from the future, makes it read again, never wrong.
    os.utime(path, (time.time() + 10_000,) * 2)
    with ProductionIndex(tmp_path) as index:
        assert index.code(path) == code_of_bytes(b"two")
    path.write_bytes(b"six")
    os.utime(path, (time.time() + 10_000,) * 2)
    with ProductionIndex(tmp_path) as index:
        assert index.code(path) == code_of_bytes(b"six")
    assert ProductionIndex(tmp_path).code(tmp_path / "none") == ""


def test_results_hold_for_their_code_only(tmp_path: Path) -> None:
    with ProductionIndex(tmp_path) as index:
        index.put("line", "a", "code", [1.5, "é"])
        assert index.get("line", "a", "code") == [1.5, "é"]
    with ProductionIndex(tmp_path) as index:
        assert index.get("line", "a", "code") == [1.5, "é"]
        assert index.get("line", "a", "other") is None
        assert index.get("sheet", "a", "code") is None
    assert (tmp_path / FOLDER / ".gitignore").read_text() == "*\n"


def answered(folder: Path) -> StandingAnswer | None:
    return standing_answer(folder, "sheet", "all")


def keep(folder: Path) -> StandingAnswer:
    began, production = now_ns(), open_production(folder)
    with ProductionIndex(folder) as index:
        renewing = Renewing(production, index)
        answer = renewing.sheets(Only())
        written = renewing.paths(Only(), None).values()
        keep_answer(folder, "sheet", "all", answer, renewing.inputs(written, began))
    return answer


@pytest.mark.parametrize("command", ["sheet", "count"])
def test_an_answer_stands_however_shortly_before_the_run_a_scene_was_changed(sample: Path, command: str) -> None:
    scene = sample / "scenes/01-lamp-room.toml"
    assert CliRunner().invoke(app_of(), [command, str(sample)]).exit_code == 0
    scene.write_text(scene.read_text("utf-8").replace("frames = 192", "frames = 193", 1), "utf-8")
    assert standing_answer(sample, command, f"{sample} None") is None
    assert CliRunner().invoke(app_of(), [command, str(sample)]).exit_code == 0
    assert standing_answer(sample, command, f"{sample} None") is not None


def test_a_scene_that_changes_while_it_is_read_has_no_answer(sample: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    scene, looked = sample / "scenes/01-lamp-room.toml", ProductionIndex.look_at

    def changed_after(index: ProductionIndex, folder: Path) -> None:
        looked(index, folder)
        scene.write_text(scene.read_text("utf-8").replace("frames = 192", "frames = 193", 1), "utf-8")

    monkeypatch.setattr(ProductionIndex, "look_at", changed_after)
    assert CliRunner().invoke(app_of(), ["sheet", str(sample)]).exit_code == 0
    assert standing_answer(sample, "sheet", f"{sample} None") is None


def test_a_part_of_a_standing_answer_is_what_is_answered_about_the_part(sample: Path) -> None:
    """Of each shot and scene, with messages about some: by the run over all, and by the command itself."""
    path = sample / "breakdowns/01-lamp-room/020-a.toml"
    kept = breakdown_file.read(path)
    untold = replace(kept.computed, voice_without_text=(UntoldVoice(0, 200_000),))
    breakdown_file.write(path, replace(kept, computed=untold))
    whole = keep(sample)
    assert {one.shot for one in whole.report.messages} == {"020"}
    parts = [
        ("01-lamp-room", None),
        ("02-post-office", None),
        (None, "010"),
        (None, "020"),
        ("02-post-office", "040"),
    ]
    for scene, shot in parts:
        made = sheets(sample, Only(scene, shot))
        assert part_of(whole, scene, shot) == StandingAnswer(made.paths, made.report), (scene, shot)
    assert part_of(whole, None, "01-lamp-room/020") == part_of(whole, "01-lamp-room", "020")


def test_what_is_told_of_no_shot_is_told_of_every_part(sample: Path) -> None:
    sheets(sample)
    lock(open_production(sample), "010", (1, 20))
    record = sample / "filmed/01-lamp-room/010.toml"
    shutil.copy(record, record.with_name("999.toml"))
    whole = keep(sample)
    assert [one.kind for one in whole.report.messages if one.shot == "999"] == ["record of no shot"]
    assert part_of(whole, "02-post-office", None) is None
    assert any(one.shot == "999" for one in sheets(sample, Only("02-post-office")).report.messages)


@pytest.mark.parametrize("command", ["sheet", "count"])
def test_a_count_at_the_shelf_that_is_broken_since_ends_a_standing_answer(sample: Path, command: str) -> None:
    for _ in range(2):
        assert CliRunner().invoke(app_of(), [command, str(sample)]).exit_code == 0
    assert standing_answer(sample, command, f"{sample} None") is not None
    (sample / "stock.toml").write_text("broken = [", "utf-8")
    assert standing_answer(sample, command, f"{sample} None") is None


@pytest.mark.parametrize(
    ("scene", "shot", "answered"),
    [
        ("a", None, True),
        ("a", "1", True),
        (None, "1", False),
        (None, "2", True),
        (None, "3", False),
        ("b", "2", False),
    ],
)
def test_a_part_that_is_not_there_or_may_be_several_is_left_to_the_command(scene, shot, answered: bool) -> None:
    paths = tuple(map(Path, ("sheets/a/1.pdf", "sheets/a/2.pdf", "sheets/b/1.pdf")))
    assert (part_of(StandingAnswer(paths, Report()), scene, shot) is not None) is answered
    general = Report(messages=(Message.of("another run", Where("all")),))
    assert part_of(StandingAnswer(paths, general), scene, shot) is None


def test_a_standing_answer_falls_with_each_thing_that_it_rests_on(sample: Path, monkeypatch) -> None:
    aged(sample)
    # What is as young as two seconds is not told by its times alone: the clock is set ahead, to wait for none.
    now = time.time_ns
    monkeypatch.setattr(time, "time_ns", lambda: now() + 2_100_000_000)
    answer = keep(sample)
    assert answered(sample) == answer
    assert standing_answer(sample, "sheet", "other") is None
    assert standing_answer(sample, "count", "all") is None
    changed = [
        "production.toml", "scenes/01-lamp-room.toml", "breakdowns/01-lamp-room/010-a.toml", "voices.toml",
        "prints/02-post-office/030.json", "sheets/02-post-office/040.pdf", "recordings",
    ]  # fmt: skip
    for name in changed:
        path = sample / name
        path = next(iter(sorted(path.iterdir()))) if path.is_dir() else path
        content = path.read_bytes()
        path.write_bytes(content + b"\n")
        assert answered(sample) is None, name
        path.write_bytes(content)
        assert keep(sample) == answer
        assert answered(sample) == answer
    for name in ("scenes/99.toml", "mouthsets/other.toml", "filmed/01-lamp-room/010.toml"):
        (sample / name).parent.mkdir(parents=True, exist_ok=True)
        (sample / name).write_text("")
        assert answered(sample) is None, name
        (sample / name).unlink()
        if name.startswith("filmed"):
            (sample / name).parent.rmdir()
    (sample / FOLDER / "sheet.json").write_text("{")
    assert answered(sample) is None


def test_a_count_is_not_made_again_while_nothing_changes(sample: Path, capsys: pytest.CaptureFixture[str]) -> None:
    def counted(*options: str) -> str:
        app_of()(["count", str(sample), *options], standalone_mode=False)
        return capsys.readouterr().out

    aged(sample)
    first, as_json = counted(), counted("--json")
    page = sample / "sheets/count.pdf"
    time.sleep(2.1)  # what is as young as this is read again
    counted()
    before = page.stat().st_mtime_ns, page.read_bytes()
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(Renewing, "tracked", None)  # it would be called
        assert (counted(), counted("--json")) == (first, as_json)
        assert (page.stat().st_mtime_ns, page.read_bytes()) == before
    page.unlink()
    assert counted() == first
    assert page.read_bytes() == before[1]
    production = sample / "production.toml"
    production.write_text(production.read_text("utf-8").replace("Low Tide Post", "High Tide Post"), "utf-8")
    counted()
    assert page.read_bytes() != before[1]
