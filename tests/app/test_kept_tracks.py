"""Tracks are kept: what counts, orders or lays out pieces fits no shot anew that is as it was, and finds the same."""

from __future__ import annotations

import json
import shutil
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

import pytest
from typer.testing import CliRunner

from lipsync.app.cli import app_of
from lipsync.app.hear import line_hearing
from lipsync.app.hear.heard import Only
from lipsync.app.index.production_index import FOLDER
from lipsync.app.plan import planning
from lipsync.app.plan.alert_facts import AlertFacts
from lipsync.app.plan.planning import ShotPlan
from lipsync.app.renew.kept_tracks import known_shot, record_of, tracks_of
from lipsync.app.renew.renewing import Looked, Renewing, hear_and_plan, tracked_shots
from lipsync.app.renew.shot_codes import _NOT_OF_TRACKS
from lipsync.breakdown import breakdown_file
from lipsync.breakdown.corrections import PieceChoice
from lipsync.model import Word
from lipsync.production.loading import open_production
from lipsync.production.values import shipped
from lipsync.track import Lost, PieceTrack

LINE = "breakdowns/01-lamp-room/020-b.toml"  # of the heron, that speaks in 010 and 040 too


@pytest.fixture
def work(monkeypatch: pytest.MonkeyPatch) -> list[str]:
    """Lines that are read, and shots that are fitted."""
    done: list[str] = []
    read, fit = line_hearing.recording_of, planning.fit_shot
    monkeypatch.setattr(line_hearing, "recording_of", lambda *given: done.append(given[1].line.id) or read(*given))
    monkeypatch.setattr(planning, "fit_shot", lambda task: done.append(f"fit {task.where.shot}") or fit(task))
    return done


def run(*asked: object) -> str:
    made = CliRunner().invoke(app_of(), [*map(str, asked)])
    assert made.exit_code == 0, made.output
    return made.stdout


def worn(folder: Path) -> list[object]:
    """Return what is worn in each shot."""
    shots = tracked_shots(open_production(folder), Only()).shots
    tracks = ([(track.character, track.pieces) for track in one.tracks] for one in shots)
    return [
        (one.scene.id, one.shot, *each, one.filmed, one.alert_facts) for one, each in zip(shots, tracks, strict=True)
    ]


def worn_anew(folder: Path) -> list[object]:
    """Return it as a run finds it that knows nothing from before."""
    shutil.rmtree(folder / FOLDER)
    return worn(folder)


def rewrite(path: Path, before: str, after: str) -> None:
    text = path.read_text("utf-8")
    assert before in text
    path.write_text(text.replace(before, after, 1), "utf-8")


@pytest.mark.parametrize("first", ["sheet", "count"])
def test_what_needs_only_tracks_reads_and_fits_nothing_that_is_known(
    sample: Path, work: list[str], first: str
) -> None:
    run(first, sample)
    assert {"fit 010", "fit 020", "fit 030", "fit 040"} <= set(work)
    del work[:]
    scene = "01-lamp-room"
    for asked in ("count", f"count --scene {scene}", "order --look", "boards", "labels --for boxes"):
        name, *options = asked.split()
        run(name, sample, *options)
        assert work == [], asked


def test_sheets_after_a_count_fit_nothing_and_are_the_same(sample: Path, work: list[str]) -> None:
    run("sheet", sample)
    pages = {path: path.read_bytes() for path in (sample / "sheets").rglob("0*.pdf")}
    assert len(pages) == 4
    for path in pages:
        path.unlink()
    shutil.rmtree(sample / FOLDER)
    run("count", sample)
    del work[:]
    run("sheet", sample)
    assert len(work) == 11  # the lines
    assert not [one for one in work if one.startswith("fit")]
    assert {path: path.read_bytes() for path in pages} == pages


def test_what_only_the_paper_says_has_nothing_fitted_again(sample: Path, work: list[str]) -> None:
    """Each field that is taken to be of paper or of the workshop changes, and the tracks are those found anew."""
    before = worn(sample)
    del work[:]
    path = sample / "production.toml"
    top = 'film = "16mm"\ndated = 2026-11-30\nseconds_a_day = 3.5\n'
    lines = path.read_text("utf-8").splitlines(keepends=True)
    kept = [one for one in lines if one.split(" =")[0] not in ("film", "dated", "seconds_a_day", "title")]
    path.write_text('title = "High Tide"\n' + top + "".join(kept), "utf-8")
    rewrite(path, 'page = "A4"', 'page = "A3"')
    rewrite(path, "spares = 1", "spares = 3")
    assert set(_NOT_OF_TRACKS) <= open_production(sample).file.model_fields_set
    assert worn(sample) == before
    assert work == []
    assert worn_anew(sample) == before


def checked(folder: Path) -> None:
    kept = breakdown_file.read(folder / LINE)
    breakdown_file.write(folder / LINE, replace(kept, checked=True))


def pinned(folder: Path) -> None:
    kept = breakdown_file.read(folder / LINE)
    breakdown_file.write(folder / LINE, replace(kept, pieces=(PieceChoice(150, "FLARE"),)))


def longer(folder: Path) -> None:
    path = folder / "scenes/01-lamp-room.toml"
    text = path.read_text("utf-8")
    at = text.index('id = "020"')
    path.write_text(text[:at] + text[at:].replace("frames = 192", "frames = 200", 1), "utf-8")


def filmed(folder: Path) -> None:
    run("sheet", folder)
    run("lock", folder, "020", "--upto", "20", "--wore", "3-9=crab:OPEN")


@pytest.mark.parametrize("change", [checked, pinned, longer, filmed])
def test_one_changed_shot_is_fitted_alone_and_all_is_as_found_anew(
    sample: Path, work: list[str], change: Callable[[Path], None]
) -> None:
    before = worn(sample)
    change(sample)
    del work[:]
    after = worn(sample)
    assert [one for one in work if one.startswith("fit")] == ["fit 020"]
    assert {one[:3] for one in work} <= {"fit", "020"}
    assert after == worn_anew(sample)
    assert (after == before) is (change is checked)


def test_a_shout_changes_the_sizes_of_its_character_in_all_shots(sample: Path, work: list[str]) -> None:
    before = worn(sample)
    kept = breakdown_file.read(sample / LINE)

    def louder(part: object) -> object:
        if not isinstance(part, Word):
            return part
        return replace(part, phonemes=tuple(replace(one, level_db=(one.level_db or 0) + 25) for one in part.phonemes))

    louder_one = replace(kept.computed, parts=tuple(map(louder, kept.computed.parts)))
    breakdown_file.write(sample / LINE, replace(kept, computed=louder_one))
    del work[:]
    after = worn(sample)
    assert {one for one in work if one.startswith("fit")} == {"fit 010", "fit 020", "fit 040"}
    assert after != before
    assert after == worn_anew(sample)


@pytest.mark.parametrize(
    ("file", "before", "after", "shots"),
    [
        ("production.toml", "[shooting]", '[fitting]\non = "twos"\n[shooting]', {"010", "020", "030", "040"}),
        ("production.toml", "frame_rate = 24", "frame_rate = 25", {"010", "020", "030", "040"}),
        ("production.toml", 'mouth_set = "driftwood"', 'mouth_set = "tideline"', {"020", "030", "040"}),
        ("mouthsets/driftwood.toml", "opening = 0.64", "opening = 0.60", {"020", "030", "040"}),
    ],
)
def test_whatever_a_track_follows_from_has_it_fitted_again(
    sample: Path, work: list[str], file: str, before: str, after: str, shots: set[str]
) -> None:
    """The heron speaks in 010, 020 and 040, the crab in 020, 030 and 040."""
    own = sample / "mouthsets"
    own.mkdir(exist_ok=True)
    shutil.copy(shipped("mouthsets") / "driftwood.toml", own)
    worn(sample)
    rewrite(sample / file, before, after)
    del work[:]
    found = worn(sample)
    assert {one.removeprefix("fit ") for one in work if one.startswith("fit")} == shots
    assert found == worn_anew(sample)


def test_a_shot_of_which_something_is_told_is_told_of_each_time(sample: Path, work: list[str]) -> None:
    kept = breakdown_file.read(sample / LINE)
    breakdown_file.write(sample / LINE, replace(kept, pieces=(PieceChoice(5, "GONE"),)))
    production = open_production(sample)
    first = tracked_shots(production, Only())
    del work[:]
    again = tracked_shots(production, Only())
    assert [one.kind for one in again.report.messages] == ["choice passed over"]
    assert again.report == first.report
    assert [one for one in work if one.startswith("fit")] == ["fit 020"]


def test_a_shot_comes_back_from_its_record_as_it_was_planned(sample: Path) -> None:
    """Through JSON, with a lost sound, frames in the can, and alerts of all four kinds."""
    filmed(sample)
    for one in hear_and_plan(open_production(sample), Only()).shots:
        cast = tuple(
            replace(
                who, track=replace(who.track, lost=(*who.track.lost, *(Lost(s, "no frame") for s in who.sounds[:1])))
            )
            for who in one.cast
        )
        shot = ShotPlan(one.asked, cast)
        record = json.loads(json.dumps(record_of(shot)))
        assert tracks_of(record, [who.job for who in cast]) == shot.tracked.tracks
        known = known_shot(shot.scene, shot.shot, record)
        assert known.tracks == tuple(PieceTrack(track.character, track.pieces) for track in shot.tracked.tracks)
        assert (known.filmed, known.alert_facts) == (shot.filmed, shot.asked.alert_facts)
        told = json.loads(json.dumps([["a"], ["b", "c"], ["d"], [[0, 7], [9, 11]]]))
        facts = AlertFacts(shot.shot, ("a",), ("b", "c"), ("d",), ((0, 7), (9, 11)))
        assert known_shot(shot.scene, shot.shot, record | {"alerts": told}).alert_facts == facts
    assert any(one.filmed for one in hear_and_plan(open_production(sample), Only()).shots)


def test_a_recording_outside_the_production_is_seen_to_change(sample: Path, tmp_path: Path, work: list[str]) -> None:
    outside = tmp_path / "outside.wav"
    shutil.copy(sample / "recordings/020-b.wav", outside)
    rewrite(sample / "scenes/01-lamp-room.toml", '"recordings/020-b.wav"', f'"{outside}"')
    worn(sample)
    del work[:]
    outside.write_bytes(outside.read_bytes()[:-2])
    worn(sample)
    assert "020-b" in work
    outside.unlink()
    told = tracked_shots(open_production(sample), Only())
    assert [one.line for one in told.report.problems] == ["020-b"]
    assert next(one for one in told.shots if one.shot.id == "020").alert_facts.missing == ("020-b",)


def test_a_line_that_cannot_be_read_again_is_told_and_its_shot_is_not_kept(
    sample: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A folder that is gone for a moment, between looking at its files and reading them."""
    before = worn(sample)
    rewrite(sample / "production.toml", "[shooting]", '[fitting]\non = "twos"\n[shooting]')
    read, recording = Renewing._planned_anew, sample / "recordings/020-b.wav"

    def gone(renewing: Renewing, looked: Looked, stale: Only) -> object:
        recording.rename(recording.with_suffix(".away"))
        try:
            return read(renewing, looked, stale)
        finally:
            recording.with_suffix(".away").rename(recording)

    with monkeypatch.context() as patch:
        patch.setattr(Renewing, "_planned_anew", gone)
        told = tracked_shots(open_production(sample), Only())
    assert [one.line for one in told.report.problems] == ["020-b"]
    after = worn(sample)
    assert after != before
    assert after == worn_anew(sample)


def test_lines_of_two_scenes_may_have_one_id(sample: Path) -> None:
    scene = (sample / "scenes/01-lamp-room.toml").read_text("utf-8")
    again = sample / "scenes/02-post-office.toml"
    again.write_text(
        f"{again.read_text('utf-8')}\n{scene[scene.index('[[shot]]', scene.index('020') - 20) :]}", "utf-8"
    )
    assert [one[1].id for one in worn(sample)] == ["010", "020", "030", "040", "020"]


def test_a_scene_that_is_not_there_has_nothing_listened_to(sample: Path, work: list[str]) -> None:
    for command in ("count", "sheet"):
        made = CliRunner().invoke(app_of(), [command, str(sample), "--scene", "no"])
        assert made.exit_code != 0
    assert work == []


def test_another_puppet_has_nothing_fitted_again(sample: Path, work: list[str]) -> None:
    before = worn(sample)
    rewrite(sample / "production.toml", "puppets = 2", "puppets = 3")
    del work[:]
    assert worn(sample) == before
    assert not [one for one in work if one.startswith("fit")]


def test_one_shot_after_breakdown_reads_its_own_lines_alone(sample: Path, work: list[str]) -> None:
    run("breakdown", sample)
    del work[:]
    run("sheet", sample, "--shot", "020")
    assert sorted(work) == ["020-a", "020-b", "020-c", "fit 020"]
    assert worn(sample) == worn_anew(sample)
