"""The mouth chart of each character, to hang beside the puppet.

In: a production. Out: files in the production's `sheets/`, or in another folder, whole or not at all.
"""

from __future__ import annotations

from pathlib import Path

from lipsync.app.print.pictures import pictures_of
from lipsync.app.print.printing import Printed
from lipsync.app.work.sparing import spared
from lipsync.errors import InputError, Problem
from lipsync.files import AnyPath, write_whole
from lipsync.message import Where
from lipsync.paper.chart_page import chart
from lipsync.paper.chart_tiles import ChartJob
from lipsync.paper.marks import Document, joined
from lipsync.paper.measuring_page import MeasuringJob, measuring_pages
from lipsync.paper.pdf import draw
from lipsync.production.values import Production
from lipsync.report import Report

# Points kept along a picture's longer side: 60 mm, its width on a chart at the most, at 200 points an inch (chosen).
_CHART_POINTS = 480


def characters_of(production: Production, only: str | None) -> tuple[str, ...]:
    """Return the ids of the characters meant: the one named, or all.

    Raises:
        InputError: if there is no such character, or none could be printed.
    """
    known = tuple(production.file.characters)
    if only is not None and only not in known:
        where = Where(str(production.folder / "production.toml"), "[characters]")
        raise InputError.of("no such character", where, character=only, known=", ".join(known))
    return known if only is None else (only,)


def write_charts(
    production: Production,
    only: str | None = None,
    page: str | None = None,
    out: AnyPath | None = None,
    *,
    measuring: bool = False,
) -> Printed:
    """Write the mouth chart of a character, or of each; a chart that cannot be printed stops no other.

    With `measuring`, how the numbers of its mouth set are measured on the pieces instead, with the chart behind it.

    Args:
        production: the production.
        only: the character's id; all if None.
        page: the size of paper; that of the production's sheets if None.
        out: where to write; the production's `sheets/` if None.
        measuring: whether it is to say how pieces are measured.

    Raises:
        InputError: if there is no such character.
        OutputError: if a file cannot be written.
    """
    folder = production.folder_for("sheets", out)
    characters = characters_of(production, only)
    pictures = pictures_of(production, characters, _CHART_POINTS)
    paths: list[Path] = []
    problems: list[Problem] = []
    for key in characters:
        with spared(problems, Where(str(production.folder / "production.toml"), f"[characters] [{key}]")):
            job = ChartJob(
                production.file.title,
                production.file.characters[key].name,
                production.mouth_sets[key],
                page or production.file.sheet.page,
                pictures.art[key],
                production.file.dated,
                production.file.sheet.words,
            )
            document, path = chart(job), folder / f"chart-{key}.pdf"
            if measuring:
                path = folder / f"measuring-{key}.pdf"
                document = _with_measuring(job, production.file.characters[key].mouth_mm, document)
            write_whole(path, draw(document))
            paths.append(path)
    if not paths:
        raise InputError(problems)
    return Printed(tuple(paths), pictures.report + Report(tuple(problems)))


def _with_measuring(job: ChartJob, mouth_mm: float | None, behind: Document) -> Document:
    """Return how the pieces of a chart are measured, and behind it the chart."""
    measured = measuring_pages(
        MeasuringJob(job.production, job.character, job.mouth_set, mouth_mm, job.page, job.art, job.dated, job.words)
    )
    return joined(measured.title, (measured, behind))
