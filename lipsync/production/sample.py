"""The sample production, copied to a folder where it can be worked on, outside the installation.

In: a folder. Out: the sample's files in it.
"""

from __future__ import annotations

from pathlib import Path

from lipsync.errors import InputError
from lipsync.files import AnyPath, write_whole
from lipsync.message import Where
from lipsync.production.values import shipped
from lipsync.tomlfile import read_toml

# The files of the production itself; the sample's folder also has files that say how it was made.
_PARTS = ("production.toml", "scenes/*.toml", "recordings/*.wav")


def put_sample(folder: AnyPath) -> None:
    """Copy the sample production to a folder; one that is there already is left as it is.

    Raises:
        InputError: if the folder holds something else, such as a production of your own: nothing of it is touched.
        OutputError: if it cannot be written.
    """
    folder = Path(folder)
    mine = folder / "production.toml"
    if mine.is_file() and _title(mine) == _title(shipped("sample_audio") / "production.toml"):
        return
    if folder.exists() and (not folder.is_dir() or any(folder.iterdir())):
        raise InputError.of("not the sample", Where(str(folder)))
    source = shipped("sample_audio")
    for pattern in reversed(_PARTS):  # production.toml last: if it is there, the copy is whole
        for path in sorted(source.glob(pattern)):
            write_whole(folder / path.relative_to(source), path.read_bytes())


def _title(file: Path) -> object:
    return read_toml(file).get("title")
