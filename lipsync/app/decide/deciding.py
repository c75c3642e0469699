"""What a director and a head of department decide from: what less work would cost, and which pieces are worth making.

In: a production and its heard lines. Out: the numbers of workshop/trade_off.py and workshop/piece_selection.py, and
from them a page, a picture and a table in the production's `sheets/`, or in another folder, whole or not at all.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

from lipsync.app.decide.worth_making import sets_made
from lipsync.app.hear.heard import Heard, Only
from lipsync.app.order.workshop_order import cost_record
from lipsync.app.plan.jobs import jobs_of
from lipsync.app.print.charting import characters_of
from lipsync.errors import InputError
from lipsync.files import AnyPath, write_together
from lipsync.fit.fit_job import Job
from lipsync.fit.fit_settings import Work
from lipsync.message import Message, Where
from lipsync.paper.csv_table import csv_table
from lipsync.paper.marks import Document
from lipsync.paper.pdf import draw
from lipsync.paper.piece_pictures import art_of
from lipsync.paper.raster import png
from lipsync.paper.weigh_page import WeighJob, weigh_page
from lipsync.paper.worth_page import WorthJob, worth_pages
from lipsync.production.values import Production, Scene
from lipsync.report import Report
from lipsync.workshop.making_cost import Cost
from lipsync.workshop.piece_selection import ReducedSet, reduced_sets
from lipsync.workshop.trade_off import Scope, TradeOff, trade_off


@dataclass(frozen=True, slots=True)
class Weighed:
    """A scene's curve of fittings against visual cost, the work that a fitting takes, and the alerts."""

    scene: Scene
    scope: Scope
    points: tuple[TradeOff, ...]
    work: Work
    alerts: tuple[str, ...] = ()

    @property
    def records(self) -> list[dict[str, Any]]:
        """A row for each price of a fitting."""
        seconds = self.scope.frames / self.scope.rate
        return [
            {
                "price": point.price,
                "fittings": point.fittings,
                "fittings_a_second": round(float(point.fittings / seconds), 2),
                "visual_cost": round(point.visual, 2),
                "other_cost": round(point.other, 2),
                "days": round(point.days, 2),
                "setting": "present" if point.present else "",
            }
            for point in self.points
        ]


def weigh_scene(production: Production, heard: Heard, scene: str) -> tuple[Weighed, Report]:
    """Return a scene's curve of fittings against visual cost, and what is to be known of it.

    Raises:
        InputError: if there is no such scene, or nobody is in it.
    """
    found = jobs_of(production, heard, Only(scene))
    jobs = [job for one in found.shots for job in one.jobs]
    place = next(one for one in production.scenes if one.id == scene)
    if not jobs:
        problems = found.report.problems
        if problems:
            raise InputError(problems)
        raise InputError.of("nobody to weigh", Where(str(place.path), scene=scene))
    scope = Scope(sum(one.shot.frames for one in found.shots), production.rate, production.file.seconds_a_day)
    own = tuple(_own_settings(jobs))
    where = Where(str(place.path), scene=scene)
    messages = tuple(
        Message.of("settings of several", where, settings=text, character=jobs[0].character) for text in own
    )
    alerts = found.alerts(production)
    if own:
        name = production.file.characters[jobs[0].character].name
        alerts = (production.file.sheet.words.own_settings.format(character=name), *alerts)
    weighed = Weighed(place, scope, trade_off(jobs, scope), jobs[0].settings.work, alerts)
    return weighed, found.report + Report(messages=messages)


def _own_settings(jobs: Sequence[Job]) -> Iterator[str]:
    """Yield, in words, the settings of which characters have several, while the curve uses one."""
    prices = {job.character: f"{job.settings.price.fitting:g}" for job in jobs}
    works = {
        job.character: f"{work.minutes_a_fitting:g} of {work.hours_a_day:g} hours"
        for job in jobs
        for work in [job.settings.work]
    }
    for what, own in (("prices", prices), ("minutes", works)):
        if len(set(own.values())) > 1:
            yield f"{what} of a fitting of their own ({', '.join(f'{who} {said}' for who, said in own.items())})"


def write_weighed(production: Production, weighed: Weighed, out: AnyPath | None = None) -> tuple[Path, ...]:
    """Write a scene's curve as a page, a picture and a table, and return the files' paths.

    Raises:
        OutputError: if a file cannot be written.
    """
    file = production.file
    job = WeighJob(
        file.title,
        weighed.scene.title,
        weighed.points,
        weighed.scope.frames,
        weighed.scope.rate,
        file.seconds_a_day,
        weighed.work,
        weighed.scene.dated or file.dated,
        file.sheet.page,
        file.sheet.words,
        weighed.alerts,
    )
    return _write(production, f"weigh-{weighed.scene.id}", weigh_page(job), weighed.records, out)


@dataclass(frozen=True, slots=True)
class Worth:
    """A character's sets: for each number of pieces the one that loses least; and what must be known of them.

    `made` is what each takes to make, by the studio's own figures; nothing where it gives none.
    """

    character: str
    sets: tuple[ReducedSet, ...]
    alerts: tuple[str, ...] = ()
    made: tuple[Cost, ...] = ()
    currency: str = ""

    @property
    def records(self) -> list[dict[str, Any]]:
        """A row for each number of pieces."""
        made = [cost_record(cost) for cost in self.made or ()] or [dict[str, Any]()] * len(self.sets)
        return [
            {
                "pieces": one.pieces,
                "loss": round(one.loss, 2),
                "next_brings": None if one.next_brings is None else round(one.next_brings, 2),
                "visual_cost": round(one.visual, 2),
                "fittings": one.fittings,
                "not_seen": one.lost,
                **cost,
                "codes": list(one.codes),
                "not_worn": list(one.not_worn),
            }
            for one, cost in zip(self.sets, made, strict=True)
        ]


def worth_of(production: Production, heard: Heard, character: str) -> tuple[Worth, Report]:
    """Return which of a character's pieces are worth making, and what is to be known of it.

    Raises:
        InputError: if there is no such character, or it is in no shot.
    """
    (key,) = characters_of(production, character)
    found = jobs_of(production, heard, with_character(production, key))
    # What is filmed does not tell which pieces are worth making: it is fitted as if it were still to come.
    jobs = [replace(job, filmed={}) for one in found.shots for job in one.jobs if job.character == key]
    if not any(job.sounds for job in jobs):
        if problems := heard.report.problems + found.report.problems:
            raise InputError(problems)
        raise InputError.of(
            "says nothing", Where(str(production.folder / "production.toml"), f"[characters] [{key}]")
        )
    of = [(one.scene.id, one.shot.id) for one in found.shots for job in one.jobs if job.character == key]
    sets = reduced_sets(jobs)
    made = sets_made(production, key, of, sets)
    alerts = found.alerts(production)
    return Worth(key, sets, alerts, made, production.file.making.currency), found.report


def with_character(production: Production, character: str) -> Only:
    """Return the shots in which a character is."""
    shots = production.shots()
    return Only(
        these=frozenset((scene.id, shot.id) for scene, shot in shots if character in production.speakers(shot))
    )


def write_worth(production: Production, worth: Worth, out: AnyPath | None = None) -> tuple[Path, ...]:
    """Write a character's sets as pages, a picture of the first, and a table, and return the files' paths.

    Raises:
        InputError: if a picture is missing.
        OutputError: if a file cannot be written.
    """
    file, mouth_set = production.file, production.mouth_sets[worth.character]
    job = WorthJob(
        file.title,
        file.characters[worth.character].name,
        mouth_set,
        worth.sets,
        file.dated,
        file.sheet.page,
        file.sheet.words,
        art_of(mouth_set, production.folder / "mouthsets"),
        worth.alerts,
        worth.made,
        worth.currency,
    )
    return _write(production, f"worth-{worth.character}", worth_pages(job), worth.records, out)


def _write(
    production: Production, name: str, document: Document, records: Sequence[dict[str, Any]], out: AnyPath | None
) -> tuple[Path, ...]:
    folder = production.folder_for("sheets", out)
    pages = draw(document)
    contents = {
        folder / f"{name}.pdf": pages,
        folder / f"{name}.png": png(pages),
        folder / f"{name}.csv": csv_table(
            [list(records[0]), *(record.values() for record in records)], for_spreadsheets=True
        ),
    }
    write_together(contents)
    return tuple(contents)
