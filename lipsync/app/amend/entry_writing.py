"""What a scene's file says of a line, changed in place: its text, its in and out, where it begins, its voice factor.

In: a production, a line, what its entry said when the person saw it, and what it is to say. Out: the scene's file, in
which all else stays as people wrote it. A change that would make the production faulty is refused with the sentences
of that fault.
"""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

from lipsync.app.hear.heard import PlacedLine
from lipsync.audio.sound_file import open_part
from lipsync.errors import InputError, LineError, Problem
from lipsync.file_lock import alone
from lipsync.files import write_whole
from lipsync.message import Where
from lipsync.production.loading import open_production
from lipsync.production.production_tables import Line
from lipsync.production.scene_text import Entry, InlineTablesError, SceneText
from lipsync.production.values import Production
from lipsync.timing import seconds_of


@dataclass(frozen=True, slots=True)
class LineEntry:
    """What can be changed of a line's entry; None where it says nothing.

    Attributes:
        text: what is said.
        in_us: where it begins in the recording, in microseconds.
        out_us: where it ends in the recording, in microseconds.
        voice_factor: the line's own voice factor.
        begins: where it begins in the shot, as the file says it: a frame of the production's numbers, or a time.
    """

    text: str
    in_us: int | None = None
    out_us: int | None = None
    voice_factor: float | None = None
    begins: int | str | None = None


def entry_of(line: Line) -> LineEntry:
    """Return what a line's entry says."""
    return LineEntry(line.text, line.in_us, line.out_us, line.voice_factor, line.begins)


def write_entry(production: Production, placed: PlacedLine, was: LineEntry, wanted: LineEntry) -> None:
    """Write what a line's entry is to say into its scene's file.

    Raises:
        InputError: if the entry says something else than `was`, or it would be a fault.
        OutputError: if the file cannot be written; it is then as it was.
    """
    path, id = placed.scene.path, placed.line.id
    if was == wanted:
        return
    with alone(path):
        content = path.read_bytes()
        if entry_of(placed.line) != was:
            raise InputError.of("entry changed meanwhile", Where(str(path), placed.place))
        new = _amended(path, content, id, _entries(was, wanted))
        _check(production, placed, new)

        def unchanged() -> None:
            if path.read_bytes() != content:
                raise InputError.of("entry changed meanwhile", Where(str(path)))

        write_whole(path, new, unchanged)


def _entries(was: LineEntry, wanted: LineEntry) -> tuple[Entry, ...]:
    """Return the entries that change, as they are written in a scene's file."""
    each: tuple[tuple[str, object, Entry], ...] = (
        ("text", was.text, ("text", wanted.text)),
        ("in_us", was.in_us, ("in", None if wanted.in_us is None else seconds_of(wanted.in_us))),
        ("out_us", was.out_us, ("out", None if wanted.out_us is None else seconds_of(wanted.out_us))),
        ("voice_factor", was.voice_factor, ("voice_factor", wanted.voice_factor)),
        ("begins", was.begins, ("begins", wanted.begins)),
    )
    return tuple(entry for name, before, entry in each if getattr(wanted, name) != before)


def _amended(path: Path, content: bytes, id: str, entries: tuple[Entry, ...]) -> bytes:
    try:
        scene = SceneText(content.decode("utf-8"))
        scene.set_line(id, entries)
    except InlineTablesError:
        raise InputError.of("lines in one row", Where(str(path))) from None
    except (ValueError, StopIteration):
        raise InputError.of("not as it was read", Where(str(path))) from None
    return scene.text().encode()


def _check(production: Production, placed: PlacedLine, content: bytes) -> None:
    """Check a scene's file before it is written, as if it were read.

    Raises:
        InputError: for the faults that it would have.
    """
    path = placed.scene.path
    scenes = open_production(production.folder, {path: content}).scenes
    lines = (line for scene in scenes if scene.path == path for shot in scene.shots for line in shot.line)
    (line,) = (line for line in lines if line.id == placed.line.id)
    try:
        with open_part(str(production.folder / line.recording), line.in_us, line.out_us):
            return
    except LineError as error:
        file, place = str(path), placed.place
        raise InputError(Problem(file, f"{place} {one.place}".strip(), one.text) for one in error.problems) from None
