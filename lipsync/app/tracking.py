"""From tracks to data: each shot as CSV, JSON, plain text or timed text, for other programs and for a terminal.

In: a production and its plans. Out: texts, or files in the production's `tracks/`, or in another folder, whole or not
at all. The forms are described in paper/track_data.py, plain_text.py and timed_text.py; all say what the sheet says.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from pathlib import Path

from lipsync.app.planning import Plans
from lipsync.app.printing import sheet_job
from lipsync.files import AnyPath, write_together
from lipsync.paper.plain_text import text_of
from lipsync.paper.sheet_job import SheetJob
from lipsync.paper.timed_text import webvtt_of
from lipsync.paper.track_data import csv_of, json_of
from lipsync.production.values import Production
from lipsync.report import Progress, no_progress

FOLDER = "tracks"

# What a track can be written as -> the end of its file's name, and what makes it.
FORMS: Mapping[str, tuple[str, Callable[[SheetJob], str]]] = {
    "text": ("txt", text_of),
    "csv": ("csv", csv_of),
    "json": ("json", json_of),
    "webvtt": ("vtt", webvtt_of),
}


def track_texts(production: Production, plans: Plans) -> Iterator[str]:
    """Yield each shot's sheet as plain text."""
    for _, job in _jobs(production, plans):
        yield text_of(job)


def write_tracks(
    production: Production,
    plans: Plans,
    forms: Sequence[str],
    out: AnyPath | None = None,
    progress: Progress = no_progress,
) -> tuple[Path, ...]:
    """Write each shot's track in these forms (`FORMS`), and return the files' paths.

    Raises:
        OutputError: if a file cannot be written.
    """
    folder = production.folder_for(FOLDER, out)
    paths: list[Path] = []
    for index, (scene, job) in enumerate(_jobs(production, plans)):
        progress("writing", index, len(plans.shots))
        made = (FORMS[form] for form in dict.fromkeys(forms))
        contents = {folder / scene / f"{job.shot}.{ending}": text(job).encode() for ending, text in made}
        if contents:
            write_together(contents)
        paths += contents
    progress("writing", len(plans.shots), len(plans.shots))
    return tuple(paths)


def _jobs(production: Production, plans: Plans) -> Iterator[tuple[str, SheetJob]]:
    """Yield the scene's id and the sheet of each shot; data has no pictures."""
    for one in plans.shots:
        yield one.scene.id, sheet_job(production, one, {cast.character: {} for cast in one.cast})
