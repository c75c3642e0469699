"""Lists, edits, scripts and recordings taken into a production: what would change is found first, and written after.

In: a production's folder and files. Out: a `Taking`, with what changes, what could not be placed, and the scenes'
files as they will be; `write_taking` writes them. All faults are told in one go, and then nothing is written. Before
it is written, the changed production is checked as a whole.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from lipsync.app.take.filmed_touched import filmed_faults, left_as_it_is
from lipsync.app.take.sessions import cut_session
from lipsync.audio.sound_file import duration_us_of
from lipsync.errors import InputError, OutputError, Problem
from lipsync.file_lock import alone
from lipsync.files import write_whole
from lipsync.folders import is_folder
from lipsync.message import Message, Where
from lipsync.production.drafts import SaidLine
from lipsync.production.joining import join
from lipsync.production.listed import Listing
from lipsync.production.listings import read_listing
from lipsync.production.loading import open_production
from lipsync.production.recording_index import RecordingIndex
from lipsync.production.recut import Recut, differences
from lipsync.production.scene_amending import amended
from lipsync.production.values import Production
from lipsync.report import Progress, Report, no_progress
from lipsync.wording import phrase

# Letters of a text that a table shows (chosen).
_COLUMN_LETTERS = 48


@dataclass(frozen=True, slots=True)
class TakeOptions:
    """How files are taken.

    Attributes:
        scene: the scene of rows that name none.
        part: whether shots and lines that the files do not name stay, in the scenes that they name.
        filmed: shots with frames in the can, as SCENE/SHOT, that may change.
        leave: shots, as SCENE/SHOT, that stay as they are, whatever the files say.
        recordings: further folders in which recordings are looked for.
    """

    scene: str | None = None
    part: bool = False
    filmed: tuple[str, ...] = ()
    leave: tuple[str, ...] = ()
    recordings: tuple[Path, ...] = ()


@dataclass(frozen=True, slots=True)
class Taking:
    """What taking would do.

    Attributes:
        differences: what changes.
        files: the new bytes of each file that changes.
        before: the present bytes of these files; None for a new file.
        report: what could not be placed, and what is to be known.
    """

    differences: tuple[Recut, ...]
    files: Mapping[Path, bytes]
    before: Mapping[Path, bytes | None]
    report: Report


def find_taking(
    folder: Path, files: Sequence[Path], options: TakeOptions | None = None, progress: Progress = no_progress
) -> Taking:
    """Return what taking these files into a production would change.

    Lines that share a recording, and of which nothing says which part they are, are looked for by listening.

    Raises:
        InputError: naming all that is wrong with the files, or with the production as it would be.
    """
    options = options or TakeOptions()
    production = open_production(folder, begun=True)
    index = RecordingIndex(production.folder, [*options.recordings, *(path for path in files if is_folder(path))])
    listings, problems = _read(production, files, index)
    durations: dict[str, int | None] = {}

    def duration_us(recording: str) -> int | None:
        if recording not in durations:
            facts = index.facts(recording)
            durations[recording] = facts.duration_us if facts else duration_us_of(folder / recording)
        return durations[recording]

    def cut(recording: str, lines: Sequence[SaidLine]) -> tuple[Mapping[str, tuple[int, int]], tuple[Message, ...]]:
        return cut_session(production, recording, lines, progress)

    wanted = join(production, listings, index, duration_us, scene=options.scene, part=options.part, cut=cut)
    problems += wanted.problems
    if problems:
        raise InputError(dict.fromkeys(problems))
    wanted = left_as_it_is(production, wanted, options.leave)
    found = differences(production, wanted)
    if faults := tuple(filmed_faults(production, found, options.filmed)):
        raise InputError(faults)
    new = amended(production, wanted)
    if new:
        open_production(folder, new)
    before = {path: path.read_bytes() if path.exists() else None for path in new}
    return Taking(found, new, before, Report(wanted.unplaced, wanted.messages))


def _read(
    production: Production, files: Sequence[Path], index: RecordingIndex
) -> tuple[list[Listing], list[Problem]]:
    listings: list[Listing] = []
    problems: list[Problem] = []
    for path in files:
        try:
            listings.append(read_listing(path, production, index))
        except InputError as error:
            problems += error.problems
    return listings, problems


def write_taking(taking: Taking) -> tuple[Path, ...]:
    """Write what a taking changes, all of it or nothing, and return the files.

    Raises:
        InputError: if a file was changed since the taking was found.
        OutputError: if a file cannot be written; files that were written before it are put back.
    """
    written: list[Path] = []
    if not taking.files:
        return ()
    with alone(next(iter(taking.files))):
        for path, before in taking.before.items():
            if (path.read_bytes() if path.exists() else None) != before:
                raise InputError.of("changed before taking", Where(str(path)))
        try:
            for path, content in taking.files.items():
                write_whole(path, content)
                written.append(path)
        except BaseException as error:
            _put_back(taking, written)
            if isinstance(error, OutputError):
                raise OutputError(phrase("nothing taken", reason=error)) from error
            raise
    return tuple(written)


def _put_back(taking: Taking, written: Sequence[Path]) -> None:
    for path in written:
        before = taking.before[path]
        if before is None:
            path.unlink()
        else:
            write_whole(path, before)


def take_rows(found: Sequence[Recut]) -> list[dict[str, Any]]:
    """Return what changes as rows of a table."""
    return [
        {
            "scene": one.scene,
            "shot": one.shot,
            "line": one.line,
            "what": one.what,
            "frames": "" if one.frames is None else f"{one.frames:+}",
            "was": _short(one.was),
            "now": _short(one.now),
        }
        for one in found
    ]


def take_records(found: Sequence[Recut]) -> list[dict[str, Any]]:
    """Return what changes as JSON values."""
    return [
        {**row, "frames": one.frames, "was": one.was, "now": one.now}
        for row, one in zip(take_rows(found), found, strict=True)
    ]


def _short(text: str) -> str:
    """Return a text that fits a column of a table."""
    return text if len(text) <= _COLUMN_LETTERS else f"{text[: _COLUMN_LETTERS - 3]}..."
