"""From tracks to data: each shot as CSV, JSON, plain text or timed text, for other programs and for a terminal.

In: a production and its plans. Out: texts, or files in the production's `tracks/`, or in another folder, whole or not
at all. Their forms are described in formats/track.md; all say what the sheet says.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from pathlib import Path

from lipsync.app.plan.planning import Plans, ShotPlan
from lipsync.app.print.printing import Printed, sheet_job
from lipsync.app.print.track_forms import TrackForm
from lipsync.app.work.sparing import spared
from lipsync.errors import Problem
from lipsync.files import AnyPath, write_together
from lipsync.paper.plain_text import text_of
from lipsync.paper.sheet_job import SheetJob
from lipsync.paper.timed_text import webvtt_of
from lipsync.paper.track_data import csv_of, json_of
from lipsync.production.values import Production
from lipsync.report import Progress, Report, no_progress

FOLDER = "tracks"

# Form of a track -> the ending of its file, and the function that makes its text.
FORMS: Mapping[str, tuple[str, Callable[[SheetJob], str]]] = {
    TrackForm.TEXT: ("txt", text_of),
    TrackForm.CSV: ("csv", csv_of),
    TrackForm.JSON: ("json", json_of),
    TrackForm.WEBVTT: ("vtt", webvtt_of),
}


def track_texts(production: Production, plans: Plans) -> tuple[tuple[str, ...], Report]:
    """Return each shot's sheet as plain text; a fault of one shot is in the report, and stops no other."""
    problems: list[Problem] = []
    texts: list[str] = []
    for one in plans.shots:
        with spared(problems, one.scene.where(one.shot)):
            texts.append(text_of(_job(production, one)))
    return tuple(texts), Report(tuple(problems))


def write_tracks(
    production: Production,
    plans: Plans,
    forms: Sequence[str],
    out: AnyPath | None = None,
    progress: Progress = no_progress,
) -> Printed:
    """Write each shot's track in these forms (`FORMS`); a fault of one shot stops no other.

    Raises:
        OutputError: if a file cannot be written.
    """
    folder = production.folder_for(FOLDER, out)
    paths: list[Path] = []
    problems: list[Problem] = []
    for index, one in enumerate(plans.shots):
        progress("writing", index, len(plans.shots))
        with spared(problems, one.scene.where(one.shot)):
            job, path = _job(production, one), folder / one.scene.id / one.shot.id
            made = (FORMS[form] for form in dict.fromkeys(forms))
            contents = {path.with_name(f"{path.name}.{ending}"): text(job).encode() for ending, text in made}
            if contents:
                write_together(contents)
            paths += contents
    progress("writing", len(plans.shots), len(plans.shots))
    return Printed(tuple(paths), Report(tuple(problems)))


def _job(production: Production, one: ShotPlan) -> SheetJob:
    """Return the sheet of a shot; data has no pictures."""
    return sheet_job(production, one, {cast.character: {} for cast in one.cast})
