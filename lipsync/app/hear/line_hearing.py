"""One line heard, by whoever is free: all that it needs in, what was found out; nothing is written.

In: a `LineTask`. Out: `LineFound`: what there is to keep of the line, computed again if what is kept no longer holds,
and how loud and high it is. Whether the file still is what it was when it was read is for whoever writes to see. A
task that goes to another machine takes along what its line's files hold; one that stays reads them where they lie.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from itertools import pairwise
from pathlib import Path
from typing import Self

from lipsync import timing
from lipsync.align.settings import LineSettings
from lipsync.app.hear.heard import PlacedLine, ToMeasure, kept_path
from lipsync.app.hear.line_settings import Carried, engine_of, of_line, recording_of, source_of
from lipsync.app.index.production_index import code_of_bytes
from lipsync.app.work.sparing import spared
from lipsync.audio.features import RATE_HZ
from lipsync.audio.pitch import pitches_hz
from lipsync.audio.recording import FLOOR_DB, Recording, levels_db
from lipsync.breakdown import breakdown_file
from lipsync.breakdown.breakdown_file import Kept, Source
from lipsync.errors import LineError, Problem
from lipsync.folders import is_there
from lipsync.message import Message
from lipsync.model import Breakdown, Rejection
from lipsync.production.values import Production
from lipsync.seen import SeenFile, seen
from lipsync.text.script import tokens_of
from lipsync.track import sounds_of


@dataclass(frozen=True, slots=True)
class LineFiles:
    """What a line's files hold.

    Attributes:
        inputs: its recording and its breakdown, as they were before they were read.
        kept: what its breakdown's file holds; None if there is none.
        recordings: what its recording holds, where that came along.
    """

    inputs: tuple[SeenFile, ...]
    kept: bytes | None
    recordings: Carried = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class LineTask:
    """A line to be heard.

    Attributes:
        production: its production; scenes and mouth sets may be left out.
        placed: the line; the other shots of its scene may be left out.
        settings: how it is listened to.
        again: listen also where nothing changed.
        as_kept: do not listen at all.
        to_measure: what else is to be found of its sound.
        files: what its files hold; they are read where they lie if None.
    """

    production: Production
    placed: PlacedLine
    settings: LineSettings
    again: bool = False
    as_kept: bool = False
    to_measure: ToMeasure = ToMeasure.ALL
    files: LineFiles | None = None

    def __str__(self) -> str:
        """Return the line's name, for the progress that a terminal shows."""
        return self.placed.key

    def recordings(self) -> Mapping[str, Path]:
        """Return its recording (workers.py: `Travelling`)."""
        return {self.placed.line.recording: self.production.folder / self.placed.line.recording}

    def packed(self) -> Self:
        """Return it with all that it reads, but for the recording."""
        return replace(self, files=_files_of(self))

    def carrying(self, recordings: Carried) -> Self:
        """Return it with what the recording holds."""
        assert self.files is not None
        return replace(self, files=replace(self.files, recordings=recordings))


@dataclass(frozen=True, slots=True)
class HeardSound:
    """The level of a line on each frame of its shot, in dB, and the pitch of each stressed sound, in Hz.

    Each is empty if it was not measured.
    """

    levels_db: tuple[float, ...] = ()
    pitches_hz: tuple[float | None, ...] = ()


@dataclass(frozen=True, slots=True)
class LineFound:
    """What was found of a line.

    Attributes:
        problems: why it could not be done; empty if it could.
        kept: what there is to keep of it; None if its recording or its file could not be read.
        read: code of its breakdown's file, as it was read or written; empty if there was none.
        source: what it was heard from.
        computed: what was heard now; None if what was kept holds.
        messages: what became of corrections.
        sound: how loud and high it is; None if that could not be measured.
        inputs: the state of its recording and of its breakdown's file, taken before they were read (seen.py).
    """

    problems: tuple[Problem, ...]
    kept: Kept | None = None
    read: str = ""
    source: Source | None = None
    computed: Breakdown | None = None
    messages: tuple[Message, ...] = ()
    sound: HeardSound | None = None
    inputs: tuple[SeenFile, ...] = ()


def task_of(production: Production, placed: PlacedLine, settings: LineSettings, *, again: bool = False) -> LineTask:
    """Return the task to hear a line, without what belongs to other lines: it is sent to another process."""
    small = replace(production, scenes=(), mouth_sets={}, read_from=())
    return LineTask(small, alone_in_scene(placed), settings, again)


def alone_in_scene(placed: PlacedLine) -> PlacedLine:
    """Return a line without the other shots of its scene."""
    return replace(placed, scene=replace(placed.scene, shots=()))


def hear_line(task: LineTask) -> LineFound:
    """Return what there is to keep of a line, and how loud and high it is."""
    problems: list[Problem] = []
    found = LineFound(())
    with spared(problems, task.placed.where):
        files = task.files or _files_of(task)
        recording = recording_of(task.production, task.placed, files.recordings)
        found = replace(_found(task, files.kept, recording), inputs=files.inputs)
        if found.kept is not None and not found.kept.undone:
            sound = sound_of(task.production, task.placed, recording, found.kept, task.to_measure)
            found = replace(found, sound=sound)
    return replace(found, problems=tuple(problems))


def _files_of(task: LineTask) -> LineFiles:
    path = kept_path(task.production, task.placed)
    inputs = seen(task.production.folder / task.placed.line.recording, path)
    return LineFiles(inputs, read_or_none(path))


def _found(task: LineTask, content: bytes | None, recording: Recording) -> LineFound:
    path, source = kept_path(task.production, task.placed), source_of(task.placed, recording)
    read = code_of(content)
    old = None if content is None else breakdown_file.read_bytes(content, str(path))
    if old is not None and not task.again and _holds(task, old, source):
        return LineFound((), old, read, source)
    if task.as_kept:
        return LineFound(())
    computed = _computed(task, recording)
    new, messages = merged(task, old, source, computed)
    return LineFound((), new, read, source, computed, messages)


def merged(task: LineTask, old: Kept | None, source: Source, computed: Breakdown) -> tuple[Kept, tuple[Message, ...]]:
    """Return what there is to keep of a line with a new computation, and messages of what became of corrections."""
    engine = engine_of(task.settings, source.text)
    new, messages = breakdown_file.merge(old, source, computed, line=task.placed.line.id, engine=engine)
    where = task.placed.where
    return new, tuple(replace(one, place=task.placed.key).within(where) for one in messages)


def read_or_none(path: Path) -> bytes | None:
    """Return the bytes of a line's file; None if there is none."""
    return path.read_bytes() if is_there(path) else None


def code_of(content: bytes | None) -> str:
    """Return the code of a file with these bytes; empty for None."""
    return "" if content is None else code_of_bytes(content)


def _holds(task: LineTask, kept: Kept, source: Source) -> bool:
    if kept.by_hand and kept.source.alike(source):
        return True  # a person has placed every word: a new computation would change nothing
    engine = engine_of(task.settings, source.text)
    if kept.edited:
        return False
    if kept.newer is not None:
        return kept.newer.source.alike(source) and kept.newer.engine == engine
    return kept.source.alike(source) and kept.engine == engine


def _computed(task: LineTask, recording: Recording) -> Breakdown:
    """Return a line's breakdown; without words if its text cannot be laid at all."""
    from lipsync.align.line import listen_to

    line = task.placed.line
    try:
        return listen_to(recording, line.text, task.settings)
    except LineError:
        rejection = Rejection.NOT_READ if text_faults(task.placed, task.settings) else Rejection.TOO_FAST
        return Breakdown(line.text, recording.duration_us, (), effort="none", rejection=rejection)


def text_faults(placed: PlacedLine, settings: LineSettings) -> tuple[Problem, ...]:
    """Return why a line's text cannot be read aloud; empty if it can."""
    from lipsync.align.line import pronunciations_of

    try:
        pronunciations_of(tokens_of(placed.line.text), settings)
    except LineError as error:
        return of_line(error, placed).problems
    return ()


def sound_of(
    production: Production, placed: PlacedLine, recording: Recording, kept: Kept, to_measure: ToMeasure
) -> HeardSound:
    """Return the levels and the pitches of a line, as far as they are to be measured."""
    if to_measure is ToMeasure.NOTHING:
        return HeardSound()
    levels = frame_levels_db(production, placed, recording)
    return HeardSound(levels, _pitches(recording, kept.breakdown) if to_measure is ToMeasure.ALL else ())


def frame_levels_db(production: Production, placed: PlacedLine, recording: Recording) -> tuple[float, ...]:
    """Return the level of a line on each frame of its shot, in dB below full scale; -120 where it is not heard."""
    begins_us, frames = production.begins_us(placed.line, placed.shot), placed.shot.frames
    edges = [timing.frame_start_us(frame, production.rate) - begins_us for frame in range(frames + 1)]
    spans = [(max(0, a), min(recording.duration_us, b)) for a, b in pairwise(edges)]
    heard = [frame for frame, (a, b) in enumerate(spans) if a < b]
    levels = [FLOOR_DB] * frames
    for frame, level in zip(heard, levels_db(recording, [spans[f] for f in heard]), strict=True):
        levels[frame] = level
    return tuple(levels)


def _pitches(recording: Recording, heard: Breakdown) -> tuple[float | None, ...]:
    """Return the pitch in Hz of each sound with primary stress, None for the others."""
    sounds = sounds_of(heard, "", 0)
    stressed = [at for at, sound in enumerate(sounds) if sound.stress == 1]
    spans = [(sounds[at].start_us, sounds[at].end_us) for at in stressed]
    found: list[float | None] = [None] * len(sounds)
    for at, hz in zip(stressed, pitches_hz(recording.samples, RATE_HZ, spans), strict=True):
        found[at] = hz
    return tuple(found)
