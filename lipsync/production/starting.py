"""Starting a production that a person can fill in: a folder in, its first files out."""

from __future__ import annotations

from importlib.resources import files
from pathlib import Path

from lipsync.errors import InputError
from lipsync.files import AnyPath, write_whole
from lipsync.message import Where
from lipsync.production.toml_text import written

FOLDERS = ("recordings", "mouthsets", "scenes")


def start_production(folder: AnyPath, title: str | None = None) -> tuple[Path, ...]:
    """Write the first files of a production and return their paths.

    Args:
        folder: a folder that is not there yet, or an empty one.
        title: the film's title; the folder's name if None.

    Raises:
        InputError: if the folder is not empty: nothing in it is touched.
        OutputError: if it cannot be written.
    """
    folder = Path(folder)
    if folder.exists() and (not folder.is_dir() or any(folder.iterdir())):
        raise InputError.of("folder in use", Where(str(folder)))
    title = folder.resolve().name if title is None else title
    starter = Path(str(files("lipsync"))) / "starter"
    paths = []
    for source in sorted(starter.rglob("*.toml")):
        target = folder / source.relative_to(starter)
        text = source.read_text(encoding="utf-8").replace('title = "Untitled"', f"title = {written(title)}")
        write_whole(target, text.encode())
        paths.append(target)
    for name in FOLDERS:
        (folder / name).mkdir(exist_ok=True)
    return tuple(paths)
