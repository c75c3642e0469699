"""Starting a production that a person can fill in: a folder in, its first files out."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from importlib.resources import files
from pathlib import Path

from lipsync.errors import InputError
from lipsync.files import AnyPath, is_unfinished, write_whole
from lipsync.folders import is_there
from lipsync.message import Where
from lipsync.production.toml_text import written

FOLDERS = ("recordings", "mouthsets", "scenes")

_LAST = "production.toml"  # written last: a folder that has it is whole


def start_production(folder: AnyPath, title: str | None = None) -> tuple[Path, ...]:
    """Write the first files of a production and return their paths.

    Args:
        folder: a folder that is not there yet, an empty one, or what a killed run left of this production.
        title: the film's title; the folder's name if None.

    Raises:
        InputError: if the folder holds anything else: nothing in it is touched.
        OutputError: if it cannot be written.
    """
    folder = Path(folder)
    title = folder.resolve().name if title is None else title
    starter = Path(str(files("lipsync"))) / "starter"
    contents = {
        source.relative_to(starter).as_posix(): source.read_text(encoding="utf-8")
        .replace('title = "Untitled"', f"title = {written(title)}")
        .encode()
        for source in sorted(starter.rglob("*.toml"))
    }
    if is_there(folder / _LAST) or not holds_only(folder, contents):
        raise InputError.of("folder in use", Where(str(folder)))
    return put_files(folder, contents, FOLDERS)


def holds_only(folder: Path, contents: Mapping[str, bytes]) -> bool:
    """Return whether a folder holds nothing but these files, by their paths in it, or some of them.

    Raises:
        OSError: if it cannot be read.
    """
    if not folder.is_dir():
        return not folder.exists()
    return all(
        path.is_dir() or is_unfinished(path) or path.read_bytes() == contents.get(path.relative_to(folder).as_posix())
        for path in folder.rglob("*")
    )


def put_files(folder: Path, contents: Mapping[str, bytes], folders: Sequence[str] = ()) -> tuple[Path, ...]:
    """Write files of a production by their paths in its folder, production.toml last, and return where they are."""
    for name in folders:
        (folder / name).mkdir(parents=True, exist_ok=True)
    for name in (*(name for name in contents if name != _LAST), _LAST):
        write_whole(folder / name, contents[name])
    return tuple(folder / name for name in contents)
