"""Which reader reads a file, by its ending.

In: a path, a production and its recordings. Out: the file's `Listing`.
"""

from __future__ import annotations

from pathlib import Path

from lipsync.errors import InputError
from lipsync.folders import is_folder, is_there
from lipsync.production.dialogue_list import WORKBOOKS, read_dialogue_list
from lipsync.production.edit_list import read_edit_list
from lipsync.production.listed import Listing
from lipsync.production.recording_index import ENDINGS, RecordingIndex
from lipsync.production.recording_names import read_recording_names
from lipsync.production.script_text import read_script
from lipsync.production.subtitle_file import SUBTITLES, read_subtitles
from lipsync.production.timeline_file import read_timeline
from lipsync.production.values import Production

_KINDS = (
    "a dialogue list (.csv, .tsv, .xlsx), an edit (.edl, .otio), subtitles (.srt, .vtt), a script (.txt), or a "
    "folder of recordings"
)


def read_listing(path: Path, production: Production, index: RecordingIndex) -> Listing:
    """Return what a file says, or what the names in a folder of recordings say.

    Raises:
        InputError: if it cannot be read, or is of no kind that can be taken.
    """
    ending = path.suffix.lower()
    if is_folder(path):
        return read_recording_names(path, production.file.taking, index)
    if not is_there(path):
        raise InputError.one(path, "", "there is no such file; check its name and folder")
    if ending in (*WORKBOOKS, ".csv", ".tsv"):
        return read_dialogue_list(path, production.file.taking.headings)
    if ending == ".edl":
        return read_edit_list(path, production.rate)
    if ending == ".otio":
        return read_timeline(path, production.rate)
    if ending in SUBTITLES:
        return read_subtitles(path)
    if ending == ".txt":
        return read_script(path)
    if ending in ENDINGS:
        return read_recording_names(path, production.file.taking, index)
    raise InputError.one(path, "", f"is nothing that can be taken; give {_KINDS}")
