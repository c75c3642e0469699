"""Out and in again: a list or a timeline that was given out changes nothing when it is taken in, and makes the same
production of an empty one; subtitles are read back by the libraries pysubs2 and webvtt-py."""

import random
from dataclasses import replace
from pathlib import Path

import opentimelineio as otio
import pysubs2
import pytest
import webvtt
from production.films import Film, a_film, lay, snapshot
from production.waves import bext, made

from lipsync.app.hear.hearing import hear
from lipsync.app.plan.planning import plan
from lipsync.app.take.giving import Giving, write_given
from lipsync.app.take.taking import find_taking, write_taking
from lipsync.production.loading import open_production


def given(folder: Path, *forms: str) -> tuple[Path, ...]:
    production = open_production(folder)
    paths, report = write_given(Giving(production, production.scenes), forms, folder.parent / "given")
    assert report.messages == ()
    return paths


def in_the_sample(sample: Path, *forms: str) -> tuple[Path, ...]:
    production = open_production(sample)
    heard = hear(production)
    return write_given(Giving(production, production.scenes, heard, plan(production, heard)), forms)[0]


def scattered(dice: random.Random) -> Film:
    """Return a film whose lines lie anywhere, over each other too, before their shot and behind its end."""
    film = a_film(2, 2, 3)
    for at in range(len(film.lines)):
        points = (dice.randint(0, 20), dice.randint(30, 70)) if dice.random() < 0.5 else (None, None)
        begins = dice.choice((dice.randint(-20, 280), f"{dice.randint(0, 11_000) / 1000} s"))
        film = film.with_line(at, begins=begins, in_frame=points[0], out_frame=points[1])
    return film


@pytest.mark.parametrize("seed", range(8))
def test_out_and_in_again_is_the_same_production(seed: int, tmp_path: Path) -> None:
    film, dice = scattered(random.Random(seed)), random.Random(seed)
    folder = lay(tmp_path / "film", film)
    for line in film.lines:
        if dice.random() < 0.5:  # EBU Tech 3285: a time stamp, anywhere in the day
            frame = dice.randrange(24 * 86_000)
            (folder / line.recording).write_bytes(made(24_000, bext(frame * 8000 // 24), rate_hz=8000))
    (tmp_path / "list.csv").write_text(film.csv(), "utf-8")
    write_taking(find_taking(folder, [tmp_path / "list.csv"]))
    lists, timelines = given(folder, "list"), given(folder, "timeline")
    before = snapshot(folder)
    for files in (lists, timelines, (*lists, *timelines)):
        taking = find_taking(folder, files)
        assert (taking.differences, taking.files, taking.report.problems) == ((), {}, ())
    assert snapshot(folder) == before
    same = open_production(folder).scenes
    for path in (folder / "scenes").glob("*.toml"):
        path.unlink()
    write_taking(find_taking(folder, lists))
    assert open_production(folder).scenes == same


def test_the_sample_comes_back_unchanged(sample: Path) -> None:
    paths = in_the_sample(sample, "list", "timeline", "workbook")
    before = snapshot(sample / "scenes")
    for ending in ("csv", "otio", "xlsx"):
        taking = find_taking(sample, [path for path in paths if path.suffix == f".{ending}"])
        assert (taking.differences, taking.report.problems) == ((), ())
    assert snapshot(sample / "scenes") == before


def test_words_and_pieces_are_markers_of_a_timeline(sample: Path) -> None:
    path = next(path for path in in_the_sample(sample, "timeline") if path.stem == "01-lamp-room")
    timeline = otio.adapters.read_from_file(str(path))
    assert timeline.global_start_time == otio.opentime.RationalTime(86_400, 24)
    assert [(track.name, track.kind) for track in timeline.tracks] == [
        ("shots", "Video"), ("heron", "Audio"), ("crab", "Audio")
    ]  # fmt: skip
    shots, heron, _ = timeline.tracks
    assert [clip.name for clip in shots] == ["01-lamp-room_010", "01-lamp-room_020"]
    clip = next(clip for clip in heron if clip.name == "010-a")
    words = [marker.name for marker in clip.markers]
    assert words[:3] == ["Poor", "old", "lamp"]
    # the line begins in the shot's 7th frame
    assert clip.range_in_parent().start_time.value == 6
    plans = plan(open_production(sample), hear(open_production(sample)))
    cast = plans.shots[0].cast[0]
    marks = [marker for marker in shots[0].markers if marker.name.startswith("heron ")]
    worn = {}
    for mark in marks:
        first, frames = (round(time.value) for time in (mark.marked_range.start_time, mark.marked_range.duration))
        worn |= dict.fromkeys(range(first, first + frames), mark.name.split()[1])
    assert worn == {at: code for at, code in enumerate(cast.track.pieces) if code is not None}


def milliseconds(clock: str) -> int:
    hours, minutes, seconds = clock.split(":")
    return round(((int(hours) * 60 + int(minutes)) * 60 + float(seconds)) * 1000)


@pytest.mark.parametrize("form", ["srt", "webvtt"])
def test_subtitles_are_read_back(form: str, sample: Path) -> None:
    path = next(path for path in in_the_sample(sample, form) if path.stem == "01-lamp-room")
    if form == "srt":
        cues = [(cue.start, cue.end, cue.text.replace("\\N", " ")) for cue in pysubs2.load(str(path))]
    else:
        cues = [
            (
                milliseconds(cue.start),
                milliseconds(cue.end),
                f"{cue.voice.upper()}: {cue.text}".replace("\n", " "),
            )
            for cue in webvtt.read(str(path))
        ]
    assert cues == sorted(cues)
    assert cues[0][2] == "ZOË WADE: Poor old lamp The wind has blown you out hasn't it"
    assert all(start < end for start, end, _ in cues)
    # 020-c begins in the 140th frame of a shot that starts 8 s after the scene: 139 / 24 s
    last = next(start for start, _, text in cues if "Oops" in text)
    assert 8000 + 139_000 / 24 <= last < 8000 + 139_000 / 24 + 1500


def test_a_title_and_what_is_written_by_hand_stay(sample: Path) -> None:
    """The list that was given out says nothing of titles, remarks, other tables: they are as they were."""
    lists = in_the_sample(sample, "list")
    scene = sample / "scenes/02-post-office.toml"
    text = scene.read_text("utf-8")
    rows = lists[1].read_text("utf-8").replace("Who on earth is Mrs Pomfleby?", "Who is Mrs Pomfleby?")
    lists[1].write_text(rows, "utf-8")
    taking = find_taking(sample, lists)
    write_taking(taking)
    assert [(one.line, one.what) for one in taking.differences] == [("030-b", "reworded")]
    assert scene.read_text("utf-8") == text.replace("Who on earth is Mrs Pomfleby?", "Who is Mrs Pomfleby?")
    assert replace(taking, files={}).files == {}
