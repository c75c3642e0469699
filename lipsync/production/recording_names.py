"""Recordings that are named for their lines: a folder, or one recording, read by the pattern in `[taking]`.

In: a path. Out: a `Listing` with a row for each recording whose name fits the pattern, and a message of the others.
"""

from __future__ import annotations

from pathlib import Path

from lipsync.folders import is_folder
from lipsync.message import Message, Where
from lipsync.production.listed import Listed, Listing
from lipsync.production.recording_index import RecordingIndex
from lipsync.production.taking_settings import TakingSettings, said_in

# Recordings that a message names (chosen).
_MOST_NAMED = 5


def read_recording_names(path: Path, settings: TakingSettings, index: RecordingIndex) -> Listing:
    """Return what the names of the recordings below a folder say, or the name of one recording."""
    found = index.below(path) if is_folder(path) else index.found(str(path.absolute()))
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
        some = ", ".join(strange[:_MOST_NAMED]) + (" ..." if len(strange) > _MOST_NAMED else "")
        told = {"count": len(strange), "pattern": settings.recordings, "recordings": some}
        messages = (Message.of("recordings not named for lines", Where(str(path)), **told),)
    return Listing("names", str(path), tuple(rows), messages=messages)
