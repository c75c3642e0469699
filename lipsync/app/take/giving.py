"""A production given out again: its lines as lists, each scene as a timeline, what is heard as subtitles.

In: a production, and its plans where what is heard or worn is asked for. Out: files in the production's `given/`, or
in another folder, whole or not at all. A list or a timeline that is taken in again changes nothing.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from itertools import groupby
from pathlib import Path

from lipsync import timing
from lipsync.app.hear.heard import Heard, HeardLine
from lipsync.app.plan.planning import Plans
from lipsync.app.print.printing import sheet_job
from lipsync.audio.sound_file import duration_us_of
from lipsync.files import write_whole
from lipsync.message import Message, Where
from lipsync.paper.csv_table import csv_table
from lipsync.paper.spreadsheet import Cell, SheetTable, workbook
from lipsync.paper.subtitles import SubtitleCue, cues_of, srt_of, webvtt_of_cues
from lipsync.paper.track_data import table_of
from lipsync.production.given import Mark, Marked, list_rows, scene_tracks
from lipsync.production.recording_index import RecordingIndex
from lipsync.production.timeline_file import timeline_text
from lipsync.production.values import Production, Scene
from lipsync.report import Report

FOLDER = "given"

# What a production can be given out as -> whether that needs what is heard and worn.
NEEDS_PLANS: Mapping[str, bool] = {"list": False, "workbook": True, "timeline": True, "srt": True, "webvtt": True}


@dataclass(frozen=True, slots=True)
class Giving:
    """What is given out: the scenes, and what is heard and worn if that is needed."""

    production: Production
    scenes: tuple[Scene, ...]
    heard: Heard | None = None
    plans: Plans | None = None

    def lines(self, scene: Scene) -> tuple[HeardLine, ...]:
        """Return what is heard of a scene."""
        return tuple(line for line in (self.heard.lines if self.heard else ()) if line.placed.scene.id == scene.id)


def write_given(giving: Giving, forms: Sequence[str], out: Path | None = None) -> tuple[tuple[Path, ...], Report]:
    """Write each scene in these forms (`NEEDS_PLANS`), and return the files' paths and what is to be said.

    Raises:
        InputError: if timelines are asked for and their library is not installed.
        OutputError: if a file cannot be written.
    """
    folder = giving.production.folder_for(FOLDER, out)
    messages: list[Message] = []
    makers: Mapping[str, Callable[[Path, Scene], bytes]] = {
        "list": lambda _, scene: csv_table(list_rows([scene])),
        "workbook": lambda _, scene: _workbook(giving, scene),
        "timeline": lambda path, scene: _timeline(giving, path, scene, messages),
        "srt": lambda _, scene: srt_of(_cues(giving, scene)).encode(),
        "webvtt": lambda _, scene: webvtt_of_cues(_cues(giving, scene)).encode(),
    }
    endings = {"list": "csv", "workbook": "xlsx", "timeline": "otio", "srt": "srt", "webvtt": "vtt"}
    paths: list[Path] = []
    for scene in giving.scenes:
        for form in dict.fromkeys(forms):
            path = folder / f"{scene.id}.{endings[form]}"
            write_whole(path, makers[form](path, scene))
            paths.append(path)
    return tuple(paths), Report(messages=tuple(messages))


def _workbook(giving: Giving, scene: Scene) -> bytes:
    """Return a scene's lines on a first sheet, and each shot's track on one of its own."""
    heads, *rows = list_rows([scene])
    tables = [SheetTable("lines", tuple(map(str, heads)), tuple(map(tuple, rows)))]
    for one in giving.plans.shots if giving.plans else ():
        if one.scene.id == scene.id:
            names, *cells = table_of(sheet_job(giving.production, one, {cast.character: {} for cast in one.cast}))
            plain: tuple[tuple[Cell, ...], ...] = tuple(tuple(_cell(value) for value in row) for row in cells)
            tables.append(SheetTable(f"track {one.shot.id}", tuple(map(str, names)), plain))
    return workbook(f"{giving.production.file.title}: {scene.title}", tables)


def _cell(value: object) -> Cell:
    if value is None:
        return ""
    return value if isinstance(value, int) else str(value)


def _timeline(giving: Giving, path: Path, scene: Scene, messages: list[Message]) -> bytes:
    production = giving.production
    marked = Marked(
        {line.placed.line.id: tuple(_words(production, line)) for line in giving.lines(scene)},
        {
            one.shot.id: tuple(mark for cast in one.cast for mark in _pieces(cast.track.character, cast.track.pieces))
            for one in (giving.plans.shots if giving.plans else ())
            if one.scene.id == scene.id
        },
    )
    index = RecordingIndex(production.folder)

    def duration_us(recording: str) -> int | None:
        return duration_us_of(production.folder / recording)

    tracks, missing = scene_tracks(production, scene, index, duration_us, marked)
    if missing:
        messages.append(Message.of("given without lines", Where(str(path), scene=scene.id), lines=", ".join(missing)))
    return timeline_text(path, scene.title, production.rate, tracks).encode()


def _words(production: Production, line: HeardLine) -> Iterator[Mark]:
    for word in line.kept.breakdown.words:
        first, end = (timing.nearest_frame(at, production.rate) for at in (word.start_us, word.end_us))
        yield first, max(1, end - first), word.text


def _pieces(character: str, pieces: Sequence[str | None]) -> Iterator[Mark]:
    at = 0
    for code, run in groupby(pieces):
        frames = len(list(run))
        if code is not None:
            yield at, frames, f"{character} {code}"
        at += frames


def _cues(giving: Giving, scene: Scene) -> list[SubtitleCue]:
    """Return what is heard of a scene; times are counted from the first frame of its earliest shot."""
    production = giving.production
    scene_start = min((production.start_frame(shot)[0] for shot in scene.shots), default=0)
    found: list[SubtitleCue] = []
    for line in giving.lines(scene):
        start = production.start_frame(line.placed.shot)[0] - scene_start
        begins_us = timing.frame_start_us(start, production.rate) + line.begins_us
        name = production.file.characters[line.placed.line.character].name
        words = [(max(0, begins_us + w.start_us), begins_us + w.end_us, w.text) for w in line.kept.breakdown.words]
        found += cues_of(name, [word for word in words if word[1] > 0])
    return sorted(found, key=lambda cue: (cue.start_us, cue.end_us))
