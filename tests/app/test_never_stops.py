"""A fault of the program's own in one line, picture or shot is told as that one's, and all the rest is done.

Into each stage an exception is thrown that nobody foresaw, for one of many.
"""

import re
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from lipsync.align import line
from lipsync.app.hear import hearing, line_hearing
from lipsync.app.hear.heard import Only
from lipsync.app.order import counts
from lipsync.app.plan import jobs, planning
from lipsync.app.print import charting, packing, pictures, printing, tracking
from lipsync.app.renew import renewing
from lipsync.errors import OutputError, Problem
from lipsync.preview import previewing
from lipsync.production.loading import open_production
from lipsync.production.values import shipped

SHOTS = ["010", "020", "030", "040"]


class UnforeseenError(Exception):
    """Nobody foresaw it."""


def throw(monkeypatch: pytest.MonkeyPatch, place: Any, name: str, meant: Callable[..., bool]) -> None:
    """Let a function of a stage throw where it is called for what is meant."""
    real = getattr(place, name)

    def thrown(*arguments: Any, **named: Any) -> Any:
        if meant(*arguments, **named):
            raise UnforeseenError("no\nidea")
        return real(*arguments, **named)

    monkeypatch.setattr(place, name, thrown)


def told(problems: tuple[Problem, ...]) -> Problem:
    """Return the one problem, which asks for a report and says what happened where, in one row."""
    (problem,) = problems
    assert problem.kind == "own fault"
    assert re.search(r"own: UnforeseenError: no idea \(\w+\.py, line \d+\); please", problem.text)
    assert "\n" not in str(problem)
    return problem


@pytest.fixture
def production(sample: Path):
    return open_production(sample)


def test_hearing(sample: Path, production, monkeypatch: pytest.MonkeyPatch) -> None:
    (sample / "breakdowns/01-lamp-room/020-b.toml").unlink()
    throw(monkeypatch, line, "listen_to", lambda recording, *_: recording.path.endswith("020-b.wav"))
    heard = hearing.hear(production)
    problem = told(heard.report.problems)
    assert (problem.line, problem.shot, problem.scene) == ("020-b", "020", "01-lamp-room")
    assert len(heard.lines) == 10
    plans = planning.plan(production, heard)
    assert [(one.shot.id, one.missing) for one in plans.shots] == [
        ("010", ()), ("020", ("020-b",)), ("030", ()), ("040", ()),
    ]  # fmt: skip


def test_what_is_measured_of_a_heard_line(production, monkeypatch: pytest.MonkeyPatch) -> None:
    throw(monkeypatch, line_hearing, "levels_db", lambda recording, _: recording.path.endswith("040-b.wav"))
    heard = hearing.hear(production)
    assert told(heard.report.problems).line == "040-b"
    assert len(heard.lines) == 10


def test_a_file_that_cannot_be_written_still_ends_the_run(production, monkeypatch: pytest.MonkeyPatch) -> None:
    """The next could not be written either: that is no fault of one line."""

    def full(*_: Any) -> None:
        raise OutputError("the disk is full")

    monkeypatch.setattr(line_hearing, "source_of", full)
    with pytest.raises(OutputError):
        hearing.hear(production)


@pytest.mark.parametrize(("place", "name"), [(jobs, "_job"), (planning, "fit")])
def test_planning(production, monkeypatch: pytest.MonkeyPatch, place: Any, name: str) -> None:
    def of_030(*arguments: Any) -> bool:
        return arguments[2].shot.id == "030" if name == "_job" else arguments[0].sounds[0].line == "030-a"

    throw(monkeypatch, place, name, of_030)
    plans = renewing.hear_and_plan(production, Only())
    assert told(plans.report.problems).shot == "030"
    assert [one.shot.id for one in plans.shots] == ["010", "020", "040"]
    assert [shot.id for shot in plans.left_out] == ["030"]


@pytest.mark.parametrize("stage", ["sheet", "packet", "text", "json", "preview"])
def test_what_is_made_of_each_shot(sample: Path, production, monkeypatch: pytest.MonkeyPatch, stage: str) -> None:
    if stage == "preview":
        pytest.importorskip("av")
    plans = renewing.hear_and_plan(production, Only())
    if stage == "sheet":
        throw(monkeypatch, printing, "revised_sheet", lambda _, one, *__: one.shot.id == "030")
        printed = printing.write_sheets(production, plans)
    elif stage == "packet":
        throw(monkeypatch, packing, "shot_packet", lambda parts, _: parts.revised.job.shot == "030")
        printed = packing.write_packets(production, plans, scenes=False)
    elif stage == "text":
        throw(monkeypatch, tracking, "text_of", lambda job: job.shot == "030")
        texts, report = tracking.track_texts(production, plans)
        assert (len(texts), told(report.problems).shot) == (3, "030")
        return
    elif stage == "json":
        monkeypatch.setitem(tracking.FORMS, "json", ("json", lambda job: str(1 / (job.shot != "030"))))
        printed = tracking.write_tracks(production, plans, ["json"])
        assert "ZeroDivisionError" in printed.report.problems[0].text
        assert [path.stem for path in printed.paths] == ["010", "020", "040"]
        return
    else:
        small = renewing.hear_and_plan(production, Only("02-post-office"))
        throw(monkeypatch, previewing, "reel_of", lambda _, shots: shots[0].shot.id == "030")
        monkeypatch.setattr(previewing, "movie_bytes", lambda *_: b"movie")
        printed = previewing.write_shot_movies(production, small, previewing.Wanted(), None)
        assert [path.stem for path in printed.paths] == ["040"]
    assert told(printed.report.problems).shot == "030"
    if stage != "preview":
        assert [path.stem for path in printed.paths] == ["010", "020", "040"]


def test_the_packet_of_a_scene_is_not_printed_without_a_shot(production, monkeypatch: pytest.MonkeyPatch) -> None:
    plans = renewing.hear_and_plan(production, Only())
    throw(monkeypatch, packing, "scene_packet", lambda title, *_: title == "The lamp room")
    printed = packing.write_packets(production, plans)
    assert told(printed.report.problems).scene == "01-lamp-room"
    assert [path.stem for path in printed.paths] == ["010", "020", "030", "040", "02-post-office"]


def test_counting(production, monkeypatch: pytest.MonkeyPatch) -> None:
    throw(monkeypatch, counts, "count", lambda tracks, *_: any(one.shot == "030" for one in tracks))
    plans = renewing.hear_and_plan(production, Only())
    assert [one.shot.id for one in plans.shots] == SHOTS
    counted = counts.countable(production, plans.tracked)
    assert told(counted.report.problems).shot == "030"
    assert [one.shot.id for one in counted.shots] == ["010", "020", "040"]
    assert [shot.id for shot in counted.left_out] == ["030"]


@pytest.fixture
def pictured(sample: Path) -> Path:
    """The sample, two pieces of the heron's set with pictures of their own."""
    folder = sample / "mouthsets"
    folder.mkdir()
    text = (shipped("mouthsets") / "tideline.toml").read_text(encoding="utf-8")
    for code in ("OPEN1", "OPEN2"):
        assert text.count(f'code = "{code}"') == 1
        text = text.replace(f'code = "{code}"', f'code = "{code}"\npicture = "{code}.svg"')
        (folder / f"{code}.svg").write_text(
            '<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 10 8"><path d="M 1 1 L 9 1 L 5 7 Z"/></svg>'
        )
    (folder / "tideline.toml").write_text(text, encoding="utf-8")
    return sample


def test_a_picture(pictured: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    production = open_production(pictured)
    throw(monkeypatch, pictures, "load", lambda file, _: file.name == "OPEN1.svg")
    found = pictures.pictures_of(production)
    assert list(found.art["heron"]) == ["OPEN2"]
    problem = told(found.report.problems)
    assert problem.place == "picture of OPEN1 of Tideline"
    assert problem.text.endswith("it is drawn instead")
    printed = printing.write_sheets(production, renewing.hear_and_plan(production, Only()))
    assert len(printed.paths) == 4
    told(printed.report.problems)


def test_a_picture_that_a_person_broke_is_told_and_drawn(pictured: Path) -> None:
    (pictured / "mouthsets/OPEN2.svg").write_text("no picture")
    charts = charting.write_charts(open_production(pictured))
    assert [path.stem for path in charts.paths] == ["chart-heron", "chart-crab"]
    (problem,) = charts.report.problems
    assert problem.file.endswith("OPEN2.svg")
    assert "drawn instead" in problem.text


def test_a_chart(production, monkeypatch: pytest.MonkeyPatch) -> None:
    throw(monkeypatch, charting, "chart", lambda job: job.character == production.file.characters["heron"].name)
    charts = charting.write_charts(production)
    assert told(charts.report.problems).place == "[characters] [heron]"
    assert [path.stem for path in charts.paths] == ["chart-crab"]
