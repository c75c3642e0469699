"""Recordings whose names say the line: a folder, or files, read by the pattern of `[taking]` in production.toml.

In: a path. Out: a `Listing` with a row for each recording whose name fits the pattern; the others are told.
"""

from __future__ import annotations

from pathlib import Path

from lipsync.message import Message
from lipsync.production.listed import Listed, Listing
from lipsync.production.recording_index import RecordingIndex
from lipsync.production.taking_settings import TakingSettings, said_in


def read_recording_names(path: Path, settings: TakingSettings, index: RecordingIndex) -> Listing:
    """Return what the names of the recordings in a folder say, or that of one recording."""
    found = index.below(path) if path.is_dir() else index.found(str(path.absolute()))
    rows: list[Listed] = []
    strange: list[str] = []
    for recording in found:
        name = recording.rpartition("/")[2]
        said = said_in(settings.recordings, name.rpartition(".")[0])
        facts = index.facts(recording)
        if said is None:
            strange.append(name)
            continue
        scene = said.get("scene") or (facts.scene if facts else "") or None
        rows.append(
            Listed(str(path), name, scene=scene, shot=said.get("shot"), line=said.get("line"), recording=recording)
        )
    messages: tuple[Message, ...] = ()
    if strange:
        some = ", ".join(strange[:5]) + (" ..." if len(strange) > 5 else "")
        what = f"{len(strange)} recordings are not named {settings.recordings} and were passed over: {some}"
        messages = (Message(str(path), "", what, "see [taking] recordings in production.toml"),)
    return Listing("names", str(path), tuple(rows), messages=messages)
