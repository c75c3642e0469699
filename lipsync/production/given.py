"""A production given out: rows of a dialogue list, and a scene as a timeline.

In: a production, and for a timeline what is heard and worn. Out: rows under the headings by which headings.py reads a
list, and `TimelineTrack`s, which timeline_file.py writes. If both are taken in again, nothing changes.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass

from lipsync import timing
from lipsync.production.headings import FIELDS
from lipsync.production.production_tables import Line, Shot
from lipsync.production.recording_index import RecordingIndex
from lipsync.production.values import Production, Scene

# A marker: its first frame (in the shot, or in the recording by the recording's timecode), count of frames, and text.
Mark = tuple[int, int, str]


@dataclass(frozen=True, slots=True)
class TimelineClip:
    """A clip of a timeline.

    Attributes:
        name: its name.
        url: the file that it shows or plays; empty for none.
        record: its first frame in the timeline, from midnight, and the frame after its last.
        source_first: its first frame in the file, by the file's timecode.
        marks: its markers.
    """

    name: str
    url: str
    record: tuple[int, int]
    source_first: int
    marks: tuple[Mark, ...] = ()


@dataclass(frozen=True, slots=True)
class TimelineTrack:
    """Clips in order, none over another; `heard` tells sound from picture."""

    name: str
    clips: tuple[TimelineClip, ...]
    heard: bool


def list_rows(scenes: Sequence[Scene]) -> Iterator[tuple[str | int, ...]]:
    """Yield the headings and then a row for each line; a shot without lines has a row of its own."""
    yield FIELDS
    for scene in scenes:
        for shot in scene.shots:
            ends = (shot.frames, shot.start)
            if not shot.line:
                yield (scene.id, shot.id, *[""] * (len(FIELDS) - 4), *ends)
            for line in shot.line:
                said = (line.id, line.character, line.text, line.recording, line.begins)
                yield (scene.id, shot.id, *said, *map(_seconds, (line.in_us, line.out_us)), *ends)


def _seconds(time_us: int | None) -> str:
    return "" if time_us is None else f"{timing.seconds_of(time_us):.6f}".rstrip("0").rstrip(".")


@dataclass(frozen=True, slots=True)
class Marked:
    """The markers of a scene: words of each line, by the line's id; pieces of each shot, by the shot's id."""

    words: Mapping[str, tuple[Mark, ...]]
    pieces: Mapping[str, tuple[Mark, ...]]


def scene_tracks(
    production: Production,
    scene: Scene,
    index: RecordingIndex,
    duration_us: Callable[[str], int | None],
    marked: Marked,
) -> tuple[tuple[TimelineTrack, ...], tuple[str, ...]]:
    """Return a scene as tracks, and the ids of lines that are left out since their recording cannot be read.

    Args:
        production: the production.
        scene: the scene.
        index: the recordings.
        duration_us: gives a recording's length in microseconds; None if it cannot be read.
        marked: the markers: words in frames from the line's beginning, pieces in frames of the shot.
    """
    pattern = production.file.taking.shots
    shots = tuple(
        TimelineClip(
            pattern.replace("{scene}", scene.id).replace("{shot}", shot.id),
            "",
            (first := production.start_frame(shot)[0], first + shot.frames),
            0,
            marked.pieces.get(shot.id, ()),
        )
        for shot in sorted(scene.shots, key=lambda shot: production.start_frame(shot)[0])
    )
    sounds: dict[str, list[TimelineClip]] = {}
    missing: list[str] = []
    for shot in scene.shots:
        for line in shot.line:
            length_us = duration_us(line.recording)
            if length_us is None:
                missing.append(line.id)
                continue
            clip = _clip(production, shot, line, index, timing.frames_covering(length_us, production.rate))
            marks = tuple(
                (clip.source_first + at, frames, text) for at, frames, text in marked.words.get(line.id, ())
            )
            _lay(sounds, line.character, TimelineClip(clip.name, clip.url, clip.record, clip.source_first, marks))
    heard = (TimelineTrack(name, tuple(clips), heard=True) for name, clips in sounds.items())
    return (TimelineTrack("shots", shots, heard=False), *heard), tuple(missing)


def _clip(production: Production, shot: Shot, line: Line, index: RecordingIndex, length: int) -> TimelineClip:
    rate = production.rate
    start, _ = production.start_frame(shot)
    begins = start + timing.nearest_frame(production.begins_us(line, shot), rate)
    first = timing.nearest_frame(line.in_us or 0, rate)
    end = length if line.out_us is None else timing.nearest_frame(line.out_us, rate)
    facts = index.facts(line.recording)
    stamp = (facts.stamp_frame(rate) or 0) if facts else 0
    return TimelineClip(line.id, line.recording, (begins, begins + end - first), stamp + first)


def _lay(tracks: dict[str, list[TimelineClip]], character: str, clip: TimelineClip) -> None:
    """Put a clip on its character's first track where it overlaps no other clip; add a track if there is none."""
    number = 1
    while True:
        clips = tracks.setdefault(character if number == 1 else f"{character} {number}", [])
        if all(clip.record[0] >= other.record[1] or clip.record[1] <= other.record[0] for other in clips):
            clips.append(clip)
            clips.sort(key=lambda one: one.record)
            return
        number += 1
