"""Prints a shot from the desk: its sheet, packet, charts or preview, by the same use cases as the commands.

In: a production's folder, the shot, and what to print of it. Out: the files, with messages and problems. The
production is read again, as a command reads it; the same files are written under the same locks, and faults have the
same sentences.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from enum import StrEnum
from pathlib import Path

from lipsync.app.hear.heard import Only
from lipsync.app.index.production_index import ProductionIndex
from lipsync.app.print.charting import write_charts
from lipsync.app.print.packing import write_packets
from lipsync.app.print.printing import Printed
from lipsync.app.renew.renewing import Renewing, hear_and_plan
from lipsync.app.work.workers import Workers
from lipsync.errors import InputError, Problem
from lipsync.preview.movie import check_installed
from lipsync.preview.previewing import Wanted, write_shot_movies
from lipsync.production.loading import open_production
from lipsync.production.values import Production
from lipsync.report import Progress, Report


class PrintKind(StrEnum):
    """What can be printed of a shot; the commands of the same names print it too."""

    SHEET = "sheet"
    PACKET = "packet"
    CHART = "chart"
    PREVIEW = "preview"


@dataclass(frozen=True, slots=True)
class PrintWanted:
    """What is to be printed, and of which shot: the ids of its scene and of the shot."""

    kind: PrintKind
    scene: str
    shot: str

    @property
    def only(self) -> Only:
        """The shot in the form in which the use cases take it."""
        return Only(self.scene, self.shot)


def print_shot(folder: Path, wanted: PrintWanted, progress: Progress, workers: Workers) -> Printed:
    """Print what is wanted, and return the files with messages and problems.

    Raises:
        ProblemsError: if nothing could be printed, with every reason.
        OutputError: if a file cannot be written.
    """
    return _WAYS[wanted.kind](open_production(folder), wanted, progress, workers)


def _sheet(production: Production, wanted: PrintWanted, progress: Progress, workers: Workers) -> Printed:
    with ProductionIndex(production.folder) as index:
        answer = Renewing(production, index, progress, workers).sheets(wanted.only)
    return Printed(answer.paths, answer.report)


def _packet(production: Production, wanted: PrintWanted, progress: Progress, workers: Workers) -> Printed:
    plans = hear_and_plan(production, wanted.only, progress, workers)
    made = write_packets(production, plans, None, progress, scenes=False)
    return Printed(made.paths, plans.report + made.report)


def _charts(production: Production, wanted: PrintWanted, progress: Progress, _workers: Workers) -> Printed:
    """Print the chart of each of the shot's characters; if one cannot be printed, the others still are."""
    ((_, shot),) = wanted.only.shots(production)
    speakers = production.speakers(shot)
    paths: list[Path] = []
    problems: list[Problem] = []
    report = Report()
    for done, character in enumerate(speakers):
        progress("printing", done, len(speakers))
        try:
            made = write_charts(production, character)
        except InputError as error:
            problems += error.problems
            continue
        paths += made.paths
        report += made.report
    progress("printing", len(speakers), len(speakers))
    return Printed(tuple(paths), report + Report(tuple(problems)))


def _preview(production: Production, wanted: PrintWanted, progress: Progress, workers: Workers) -> Printed:
    check_installed()
    plans = hear_and_plan(production, wanted.only, progress, workers)
    made = write_shot_movies(production, plans, Wanted(), None, progress)
    return Printed(made.paths, plans.report + made.report)


_WAYS: dict[PrintKind, Callable[[Production, PrintWanted, Progress, Workers], Printed]] = {
    PrintKind.SHEET: _sheet,
    PrintKind.PACKET: _packet,
    PrintKind.CHART: _charts,
    PrintKind.PREVIEW: _preview,
}
