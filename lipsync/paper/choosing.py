"""Chooses the page that a shot is printed on: the one asked for, or the nearest one that has room; it never refuses.

In: a job and its rows. Out: a `Chosen`. If the page asked for is too small, these are tried: the same paper turned,
the same paper in the standard form, then the next larger paper of its family in the same order. If no page has room
for all characters, the shot gets several sheets that lie side by side: the same rows and the same stamp on each, the
characters shared out in order, and the columns to write in on the last sheet.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace
from itertools import pairwise

from lipsync.errors import InputError
from lipsync.paper.columns import Kind, Layout, layout_on
from lipsync.paper.measures import Measured, measured
from lipsync.paper.needs import NUMBERS, needs_of
from lipsync.paper.page_forms import LARGER, ORIENTATIONS, form_of
from lipsync.paper.rows import Row
from lipsync.paper.sheet_job import SheetJob
from lipsync.paper.sheet_settings import FACE


@dataclass(frozen=True, slots=True)
class SheetPart:
    """One of the sheets that lie side by side: its characters with their rows, and where its columns lie."""

    job: SheetJob
    rows: tuple[Row, ...]
    texts: Measured
    layout: Layout


@dataclass(frozen=True, slots=True)
class Chosen:
    """The page of a shot.

    Attributes:
        kind: paper, orientation, and form.
        parts: the sheets from left to right; a single one if a page has room for all.
        too_wide_mm: if the page asked for is not wide enough: the width that its columns need, and its own.
    """

    kind: Kind
    parts: tuple[SheetPart, ...]
    too_wide_mm: tuple[float, float] | None = None


def choose(job: SheetJob, rows: tuple[Row, ...]) -> Chosen:
    """Return the page that a shot is printed on.

    Raises:
        InputError: if one character alone is too wide for every page; only a name of some hundred letters is.
    """
    whole = _Half(job, rows, measured(job, rows), job.settings.columns)
    for count in range(1, max(1, len(job.characters)) + 1):
        halves = [whole] if count == 1 else list(_halves(job, rows, count))
        for kind in _kinds(job):
            layouts = [layout_on(half.job, half.texts, kind, half.columns) for half in halves]
            parts = [
                SheetPart(half.job, half.rows, half.texts, layout)
                for half, layout in zip(halves, layouts, strict=True)
                if layout is not None
            ]
            # Rows on sheets that lie side by side have the same height.
            cuts = {(part.layout.banks, part.layout.form.rows) for part in parts}
            if len(parts) == len(halves) and len(cuts) == 1:
                return Chosen(kind, _alike(parts), _too_wide_mm(whole, _asked(job)))
    text = "is too wide for any page: shorten the characters' names, or take names out of `columns` under [sheet]"
    raise InputError.one("", f"shot {job.shot}", text)


def _alike(parts: list[SheetPart]) -> tuple[SheetPart, ...]:
    """Return the parts with boxes to tick on all of them; on none, if one part has no room for boxes."""
    boxed = all(part.layout.boxed for part in parts)
    return tuple(replace(part, layout=replace(part.layout, boxed=boxed)) for part in parts)


def _asked(job: SheetJob) -> Kind:
    return Kind(job.settings.page, job.settings.orientation, job.settings.form)


def _too_wide_mm(whole: _Half, asked: Kind) -> tuple[float, float] | None:
    form = form_of(asked.page, asked.orientation, asked.form)
    needs = needs_of(whole.job, whole.texts, list(whole.columns), form, form.tight)
    needed_mm = sum(need.least_mm for need in needs)
    return (needed_mm, form.inner_mm) if needed_mm > form.inner_mm else None


@dataclass(frozen=True, slots=True)
class _Half:
    """What is printed on a part, before a page is chosen for it."""

    job: SheetJob
    rows: tuple[Row, ...]
    texts: Measured
    columns: tuple[str, ...]


def _halves(job: SheetJob, rows: tuple[Row, ...], count: int) -> Iterator[_Half]:
    """Share the characters out over `count` parts; if the division leaves a rest, the first parts take one more."""
    cast = len(job.characters)
    edges = [-(-cast * part // count) for part in range(count + 1)]
    for first, end in pairwise(edges):
        own = replace(job, characters=job.characters[first:end])
        cells = tuple(replace(row, cells=row.cells[first:end]) for row in rows)
        last = end == cast
        columns = tuple(n for n in job.settings.columns if last or n in (*NUMBERS, *FACE, "character"))
        yield _Half(own, cells, measured(own, cells), columns)


def _kinds(job: SheetJob) -> Iterator[Kind]:
    """Yield kinds of page, the one asked for first."""
    asked = job.settings
    turned = next(one for one in ORIENTATIONS if one != asked.orientation)
    papers = [asked.page, *([LARGER[asked.page]] if asked.page in LARGER else [])]
    for page in papers:
        for form in dict.fromkeys([asked.form, "standard"]):
            for orientation in (asked.orientation, turned):
                yield Kind(page, orientation, form)
