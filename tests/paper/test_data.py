"""A track as data: read back by other readers, it says what the job said."""

import csv
import io
import json
from collections import Counter
from dataclasses import replace
from fractions import Fraction
from itertools import groupby, pairwise

import pytest
import webvtt

from lipsync import timing
from lipsync.paper.plain_text import text_of
from lipsync.paper.rows import rows_of, stamp_of
from lipsync.paper.timed_text import webvtt_of
from lipsync.paper.track_data import FORM, csv_of, json_of
from lipsync.workshop.counting import ShotTrack, count

SEEDS = range(2000, 2030)


@pytest.mark.parametrize("seed", SEEDS)
def test_the_csv_has_every_frame_of_every_character(make_job, seed):
    job = make_job(seed)
    rows = list(csv.DictReader(io.StringIO(csv_of(job), newline="")))
    assert len(rows) == job.frames * len(job.characters)
    for character in job.characters:
        own = [row for row in rows if row["character"] == character.track.character]
        assert [row["piece"] or None for row in own] == list(character.track.pieces)
        assert [int(row["frame"]) for row in own] == list(range(job.first_frame, job.first_frame + job.frames))
        assert {row["form"] for row in own} == {FORM}
        assert {int(row["frame_from_0"]) for row in own if row["filmed"] == "1"} == job.filmed


def test_counted_again_from_the_csv_the_pieces_are_those_of_the_count(make_job):
    for seed in range(2100, 2110):
        job = make_job(seed, characters=2)
        rows = list(csv.DictReader(io.StringIO(csv_of(job), newline="")))
        seen = Counter((row["character"], row["piece"]) for row in rows if row["piece"])
        fitted = Counter((row["character"], row["piece"]) for row in rows if row["fitted"] == "1")
        tracks = [ShotTrack("harbour", job.shot, character.track) for character in job.characters]
        counted = count(tracks, {character.track.character: 1 for character in job.characters}, {})
        assert {(row.character, row.code): row.frames_seen for row in counted} == seen
        assert {(row.character, row.code): row.times_fitted for row in counted} == fitted


@pytest.mark.parametrize("seed", SEEDS)
def test_the_json_holds_the_whole_track(make_job, seed):
    job = make_job(seed)
    read = json.loads(json_of(job))
    assert (read["form"], read["shot"], Fraction(read["rate"])) == (FORM, job.shot, job.rate)
    assert read["stamp"] == stamp_of(job, rows_of(job))
    for character, told in zip(job.characters, read["characters"], strict=True):
        assert [frame["piece"] for frame in told["frames"]] == list(character.track.pieces)
        assert {frame["frame_from_0"] for frame in told["frames"] if frame["filmed"]} == job.filmed
        worn = {}
        for fitting in told["fittings"]:
            assert fitting["frame"] == job.first_frame + fitting["frame_from_0"]
            worn[fitting["frame_from_0"]] = fitting["code"]
        assert worn == {fitting.frame: fitting.code for fitting in character.track.fittings}
        times = [(timing.us_of_seconds(s["start_s"]), timing.us_of_seconds(s["end_s"])) for s in told["sounds"]]
        assert times == [(sound.start_us, sound.end_us) for sound in character.sounds]
        assert [lost["symbol"] for lost in told["lost"]] == [lost.sound.symbol for lost in character.track.lost]


@pytest.mark.parametrize("seed", SEEDS)
def test_the_text_has_a_line_for_each_frame_and_a_rule_at_each_second(make_job, seed):
    job = make_job(seed, frames=60, characters=2, rate=Fraction(24))
    lines = text_of(job).split("\n")
    body = [line for line in lines if line[:1].isdigit()]
    numbers = [line.split(" ")[0] for line in body]
    assert [int(number.rstrip("*")) for number in numbers] == list(range(job.first_frame, job.first_frame + 60))
    assert {place for place, number in enumerate(numbers) if number.endswith("*")} == job.filmed
    rules = [number for number, line in enumerate(lines) if line.startswith("-")]
    assert [after - before - 1 for before, after in pairwise(rules)] == [24, 24]
    for place, character in enumerate(job.characters):
        shown = [line.split("||")[place + 1].split("|")[2].strip() for line in body]
        worn, track = None, []
        for cell in shown:
            worn = {":": worn, "off camera": None}.get(cell, cell)
            track.append(worn)
        assert tuple(track) == character.track.pieces


def test_the_text_says_at_its_end_what_its_signs_mean(make_job):
    met = set()
    for job in map(make_job, SEEDS):
        *body, last = text_of(job).rstrip("\n").split("\n")
        said = ("* in the can: final" in last, "? doubtful: ask before filming" in last)
        assert said == (bool(job.filmed), any("|| ? " in line for line in body))
        met.add(said)
    assert len(met) == 4  # with either sign, both and none


def test_what_must_be_known_first_stands_above_the_text_and_in_the_json(make_job):
    job = replace(make_job(2003, frames=24), alerts=("do not work from this yet: 010-a is missing here",))
    assert text_of(job).split("\n")[1] == job.alerts[0]
    assert json.loads(json_of(job))["alerts"] == list(job.alerts)


@pytest.mark.parametrize("seed", SEEDS)
def test_the_timed_text_is_read_by_another_reader(make_job, seed):
    # The reader is webvtt-py; order and times as the W3C's WebVTT asks: no cue begins before the one before it.
    job = make_job(seed)
    text = webvtt_of(job)
    cues = list(webvtt.from_string(text))
    assert all(before.start_in_seconds <= after.start_in_seconds for before, after in pairwise(cues))
    assert all(cue.end > cue.start for cue in cues)
    pieces = [(cue.voice, cue.start, cue.end, cue.text) for cue in cues if cue.identifier.startswith("piece ")]
    expected = []
    for character in job.characters:
        frame = 0
        for code, run in groupby(character.track.pieces):
            end = frame + len(list(run))
            if code is not None:
                expected.append((character.name, clock(job, frame), clock(job, end), code))
            frame = end
    assert sorted(pieces) == sorted(expected)


def clock(job, frame):
    ms = round(Fraction(timing.frame_start_us(frame, job.rate), 1000) + Fraction(1, 10**9))
    return f"{ms // 3_600_000:02}:{ms // 60_000 % 60:02}:{ms // 1000 % 60:02}.{ms % 1000:03}"


def test_what_timed_text_reserves_is_escaped(make_job, with_sounds):
    job = make_job(2004, frames=48, characters=1)
    sound = job.characters[0].sounds[0].__class__("a", 0, "AA", "<b>--> &", 0, 500_000)
    text = webvtt_of(with_sounds(job, [sound]))
    assert "&lt;b&gt;--&gt; &amp;" in text
    assert all("-->" not in line or line[:2].isdigit() for line in text.split("\n"))
