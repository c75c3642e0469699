"""What a person decides about a line that has been heard: corrections brought in, a newer computation taken.

In: a production, and a line's id or a file named for the line. Out: the line's breakdown on disk, and messages.
"""

from __future__ import annotations

from dataclasses import replace
from functools import partial
from pathlib import Path

from lipsync.app.amend.levels import measured
from lipsync.app.hear.heard import Heard, Only, PlacedLine, kept_path, line_called, lines_of
from lipsync.app.hear.line_settings import not_heard, recording_of
from lipsync.breakdown import breakdown_file
from lipsync.breakdown.breakdown_file import Kept
from lipsync.errors import InputError, LineError
from lipsync.file_lock import alone
from lipsync.files import AnyPath, write_whole
from lipsync.folders import is_there
from lipsync.message import Message
from lipsync.production.values import Production


def import_textgrid(production: Production, path: AnyPath) -> tuple[Message, ...]:
    """Take the corrections in a TextGrid named for its line, and return messages; it need not be heard yet.

    Raises:
        InputError: if there is no such line, or for faults in the file.
        LineError: if nobody has listened to the line, and its recording cannot be read.
    """
    from lipsync.breakdown.textgrid import from_textgrid

    path = Path(path)
    inside = any(
        one.scene.id == path.parent.name and one.line.id == path.stem for one in lines_of(production, Only())
    )
    placed = line_called(production, f"{path.parent.name}/{path.stem}" if inside else path.stem, path)
    with alone(kept_path(production, placed)):
        kept = _to_correct(production, placed)
        wanted = measured(
            kept.breakdown, from_textgrid(path, kept.breakdown), partial(recording_of, production, placed)
        )
        new = kept.corrected_to(wanted, note=f"from {path.name}")
        breakdown_file.write(kept_path(production, placed), new)
    added = len(new.corrections) - len(kept.corrections)
    where = replace(placed.where, file="", place=placed.key)
    return (Message.of("corrections brought in", where, kept=len(new.corrections), new=max(0, added)),)


def _to_correct(production: Production, placed: PlacedLine) -> Kept:
    """Return what the corrections apply to: what is kept of the line, or a line without words if it was not heard."""
    path = kept_path(production, placed)
    old = breakdown_file.read(path) if is_there(path) else None
    if old is not None and (old.corrections or old.checked or old.edited):
        return old
    try:
        blank = not_heard(placed, recording_of(production, placed))
    except LineError:
        if old is None:
            raise
        return old
    same = old is not None and old.source.fingerprint == blank.source.fingerprint
    return old if old is not None and same else replace(blank, pieces=old.pieces if old else ())


def take_newer(production: Production, line: str) -> tuple[Message, ...]:
    """Let a line's newer computation replace what was kept, and return messages.

    Raises:
        InputError: if there is no such line, or nothing newer waits.
    """
    placed = line_called(production, line, production.folder / "scenes")
    path = kept_path(production, placed)
    with alone(path):
        kept = _kept(production, placed)
        if kept.newer is None:
            raise InputError.of("nothing to take", placed.where_in(path))
        new, messages = breakdown_file.accept_newer(kept)
        breakdown_file.write(path, new)
    return tuple(replace(one, place=placed.key).within(placed.where) for one in messages)


def _kept(production: Production, placed: PlacedLine) -> Kept:
    path = kept_path(production, placed)
    if not is_there(path):
        raise InputError.of("not listened to", placed.where_in(path), production=production.folder)
    return breakdown_file.read(path)


def write_textgrids(production: Production, heard: Heard) -> tuple[Path, ...]:
    """Write each line's breakdown as a TextGrid beside it, and return the files' paths."""
    from lipsync.breakdown.textgrid import to_textgrid

    paths = []
    for line in heard.lines:
        path = kept_path(production, line.placed).with_suffix(".TextGrid")
        write_whole(path, to_textgrid(line.kept.breakdown).encode())
        paths.append(path)
    return tuple(paths)
