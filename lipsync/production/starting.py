"""Starting a production that a person can fill in: a folder in, its first files out."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from importlib.resources import files
from pathlib import Path

from lipsync.errors import InputError
from lipsync.files import AnyPath, write_whole
from lipsync.folders import files_below, files_in, is_folder, is_there
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
    if is_there(folder / _LAST) or not holds_only(folder, contents, FOLDERS):
        raise InputError.of("folder in use", Where(str(folder)))
    return put_files(folder, contents, FOLDERS)


def holds_only(folder: Path, contents: Mapping[str, bytes], folders: Sequence[str] = ()) -> bool:
    """Return whether a folder holds nothing but some of these files, by their paths in it, and of these folders.

    Raises:
        InputError: if it, or a folder in it, cannot be read.
    """
    if not is_folder(folder):
        return not is_there(folder)
    ours = {*folders, *(name.partition("/")[0] for name in contents)}
    top = files_in(folder, "")
    if any(path.name not in ours for path in top):
        return False
    found = (*(path for path in top if not is_folder(path)), *files_below(folder, ""))
    return all(_holds(path, contents.get(path.relative_to(folder).as_posix())) for path in found)


def _holds(path: Path, content: bytes | None) -> bool:
    """Return whether a file that is known holds what it should; any other is not read."""
    if content is None or not path.is_file():
        return False
    try:
        return path.read_bytes() == content
    except OSError:
        return False


def put_files(folder: Path, contents: Mapping[str, bytes], folders: Sequence[str] = ()) -> tuple[Path, ...]:
    """Write files and folders of a production by their paths in it, production.toml last; return where the files are.

    Raises:
        OutputError: if a file cannot be written.
    """
    for name in contents:
        if name != _LAST:
            write_whole(folder / name, contents[name])
    for name in folders:
        (folder / name).mkdir(exist_ok=True)
    write_whole(folder / _LAST, contents[_LAST])
    return tuple(folder / name for name in contents)
