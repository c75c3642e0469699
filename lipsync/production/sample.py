"""The sample production, copied to a folder where it can be worked on, outside the installation.

In: a folder. Out: the sample's files in it.
"""

from __future__ import annotations

from pathlib import Path

from lipsync.errors import InputError
from lipsync.files import AnyPath
from lipsync.folders import is_there
from lipsync.message import Where
from lipsync.production.starting import holds_only, put_files
from lipsync.production.values import shipped
from lipsync.tomlfile import read_toml

# The files of the production itself; the sample's folder also has files that say how it was made.
_PARTS = ("production.toml", "scenes/*.toml", "recordings/*.wav")


def put_sample(folder: AnyPath) -> None:
    """Copy the sample production to a folder; one that is there is left as it is, a copy that was broken off goes on.

    Raises:
        InputError: if the folder holds something else, such as a production of your own: nothing of it is touched.
        OutputError: if it cannot be written.
    """
    folder = Path(folder)
    mine = folder / "production.toml"
    if mine.is_file() and _title(mine) == _title(shipped("sample_audio") / "production.toml"):
        return
    source = shipped("sample_audio")
    paths = [path for pattern in _PARTS for path in sorted(source.glob(pattern))]
    contents = {path.relative_to(source).as_posix(): path.read_bytes() for path in paths}
    if is_there(mine) or not holds_only(folder, contents):
        raise InputError.of("not the sample", Where(str(folder)))
    put_files(folder, contents)


def _title(file: Path) -> object:
    return read_toml(file).get("title")
