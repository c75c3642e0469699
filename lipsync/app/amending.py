"""What a person decides about a line that has been heard: corrections brought in, a newer computation taken.

In: a production, a line's id or a file named for it. Out: the line's breakdown on disk, and sentences to say of it.
"""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

from lipsync.app.heard import Heard, Only, PlacedLine, kept_path, lines_of
from lipsync.breakdown import breakdown_file
from lipsync.breakdown.breakdown_file import Kept
from lipsync.errors import InputError
from lipsync.file_lock import alone
from lipsync.files import AnyPath, write_whole
from lipsync.folders import is_there
from lipsync.message import Message, Where
from lipsync.production.values import Production


def import_textgrid(production: Production, path: AnyPath) -> tuple[Message, ...]:
    """Take the corrections in a TextGrid that is named for its line, and return what to say of them.

    Raises:
        InputError: if there is no such line, if it has not been listened to, or for faults in the file.
    """
    from lipsync.breakdown.textgrid import from_textgrid

    path = Path(path)
    placed = _placed(production, path.stem, path)
    with alone(kept_path(production, placed)):
        kept = _kept(production, placed)
        wanted = from_textgrid(path, kept.breakdown)
        new = kept.corrected_to(wanted, note=f"from {path.name}")
        breakdown_file.write(kept_path(production, placed), new)
    added = len(new.corrections) - len(kept.corrections)
    where = replace(placed.where, file="", place=placed.line.id)
    return (Message.of("corrections brought in", where, kept=len(new.corrections), new=max(0, added)),)


def take_newer(production: Production, line: str) -> tuple[Message, ...]:
    """Let a line's newer computation replace what was kept, and return what to say of it.

    Raises:
        InputError: if there is no such line, or nothing newer waits.
    """
    placed = _placed(production, line, production.folder / "scenes")
    path = kept_path(production, placed)
    with alone(path):
        kept = _kept(production, placed)
        if kept.newer is None:
            raise InputError.of("nothing to take", placed.where_in(path))
        new, messages = breakdown_file.accept_newer(kept)
        breakdown_file.write(path, new)
    return tuple(one.within(placed.where) for one in messages)


def _placed(production: Production, line: str, asked_in: Path) -> PlacedLine:
    placed = next((one for one in lines_of(production, Only()) if one.line.id == line), None)
    if placed is None:
        known = ", ".join(one.line.id for one in lines_of(production, Only()))
        raise InputError.of("no such line", Where(str(asked_in)), line=line, known=known)
    return placed


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
