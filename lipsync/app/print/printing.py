"""From tracks to paper: a sheet for each shot.

In: a production and its plans. Out: files in the production's `sheets/`, or in another folder, whole or not at all.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from pathlib import Path

from lipsync.app.index.production_index import code_of_bytes
from lipsync.app.plan.alert_facts import alerts_of
from lipsync.app.plan.planning import CastPlan, Plans, ShotPlan
from lipsync.app.print.pictures import Pictures, pictures_of
from lipsync.app.print.unchanged import InputsWatch
from lipsync.app.work.sparing import spared
from lipsync.app.work.workers import Workers
from lipsync.errors import LineError, Problem
from lipsync.file_lock import alone
from lipsync.files import AnyPath, write_whole
from lipsync.fit.keys import keys
from lipsync.floor.as_filmed import FilmedCells, notes_to_come
from lipsync.floor.prints import FOLDER as PRINTS
from lipsync.floor.prints import prints_in
from lipsync.floor.revising import Revised, revise
from lipsync.floor.shot_files import ShotFiles
from lipsync.message import Where
from lipsync.paper.beats import beats_of
from lipsync.paper.pdf import draw
from lipsync.paper.piece_pictures import Art
from lipsync.paper.sheet_job import SheetCharacter, SheetJob
from lipsync.production.values import Production
from lipsync.report import Progress, Report, no_progress

# The folder, beside a scene's sheets, for their changed pages.
CHANGED = "changed"
# Seconds to draw a sheet, roughly (measured on one core of an ordinary machine).
_DRAWING_S = 0.1


@dataclass(frozen=True, slots=True)
class Printed:
    """The files that were written, what could not be printed, and the codes of written sheets and records."""

    paths: tuple[Path, ...]
    report: Report
    codes: Mapping[Path, str] = field(default_factory=dict)


def write_sheets(
    production: Production,
    plans: Plans,
    out: AnyPath | None = None,
    progress: Progress = no_progress,
    *,
    changed: bool = False,
    workers: Workers | None = None,
) -> Printed:
    """Write the exposure sheet of each shot, each with its revision; a shot that cannot be printed stops no other.

    With `changed`, the pages that differ from the revision before stand in a file of their own too, in the folder
    `changed` beside the sheet, and only these files are returned: the sheet itself is always the whole newest one.

    Args:
        production: the production.
        plans: the shots.
        out: the folder to write to; sheets/ in the production if None.
        progress: told of each shot done.
        changed: whether the pages that differ are wanted.
        workers: the workers that draw; this process if None.

    Returns:
        The files, and what could not be printed.

    Raises:
        OutputError: if a file cannot be written.
    """
    folder = production.folder_for("sheets", out)
    watch = InputsWatch(production, plans)
    printing = _Printing(production, plans.shots, pictures_of(production), prints_in(production), watch)
    found: dict[int, tuple[Path, ...]] = {}
    faults: dict[int, list[Problem]] = {place: [] for place in range(len(plans.shots))}
    progress("printing", 0, len(plans.shots))
    tasks = printing.tasks(faults, changed=changed)
    for done, outcome in (workers or Workers()).each(draw_sheet, tasks, _DRAWING_S * len(plans.shots)):
        (place, task), drawn = printing.sent.pop(done), outcome.found
        one = plans.shots[place]
        with spared(faults[place], one.scene.where(one.shot)):
            if drawn is None:
                raise LineError([Problem.of("worker died", one.scene.where(one.shot))])
            found[place] = printing.written(place, (task, drawn), folder / one.scene.id / f"{one.shot.id}.pdf")
        progress("printing", len(found), len(plans.shots))
    progress("printing", len(plans.shots), len(plans.shots))
    problems = tuple(problem for place in sorted(faults) for problem in faults[place])
    paths = tuple(path for place in sorted(found) for path in found[place])
    return Printed(paths, printing.pictures.report + Report(problems), printing.codes)


@dataclass(frozen=True, slots=True)
class DrawTask:
    """A sheet to be drawn, and whether its changed pages are wanted alone."""

    revised: Revised
    changed: bool

    def __str__(self) -> str:
        """Return the shot's id, for the progress that a terminal shows."""
        return self.revised.job.shot


@dataclass(frozen=True, slots=True)
class DrawnSheet:
    """A sheet as the bytes of its file.

    Attributes:
        sheet: the whole of it; None if it could not be drawn.
        few: its changed pages, where they are wanted and there are any.
        problems: why it could not be drawn.
    """

    sheet: bytes | None = None
    few: bytes | None = None
    problems: tuple[Problem, ...] = ()


def draw_sheet(task: DrawTask) -> DrawnSheet:
    """Return a sheet drawn."""
    problems: list[Problem] = []
    with spared(problems, Where()):
        few = task.revised.changed_document() if task.changed else None
        return DrawnSheet(draw(task.revised.document()), None if few is None else draw(few))
    return DrawnSheet(problems=tuple(problems))


@dataclass(slots=True)
class _Printing:
    """The sheets of one run; `sent` are being drawn, with the index of their shot; `codes` are of written files."""

    production: Production
    shots: Sequence[ShotPlan]
    pictures: Pictures
    printed: ShotFiles
    watch: InputsWatch
    sent: dict[int, tuple[int, DrawTask]] = field(default_factory=dict)
    codes: dict[Path, str] = field(default_factory=dict)

    def tasks(self, faults: Mapping[int, list[Problem]], *, changed: bool) -> Iterator[DrawTask]:
        """Yield a task for each shot; if a sheet cannot be made, the reason is added to the shot's faults."""
        number = 0
        for place, one in enumerate(self.shots):
            task = None
            with spared(faults[place], one.scene.where(one.shot)):
                task = DrawTask(self._revised(place), changed)
            if task is not None:
                self.sent[number] = place, task
                number += 1
                yield task

    def written(self, place: int, made: tuple[DrawTask, DrawnSheet], path: Path) -> tuple[Path, ...]:
        """Write a sheet and its record, and return its files.

        Raises:
            ProblemsError: if it cannot be drawn.
            OutputError: if a file cannot be written.
        """
        task, drawn = made
        # Under this lock no other process prints: a letter is given once, and no older page replaces a newer one.
        with alone(self.production.folder / PRINTS):
            self.watch.check(self.shots[place])
            revised = task.revised.anew()
            self.watch.check_revision(self.shots[place], revised)
            if revised.known != task.revised.known:  # another program has printed the shot since
                drawn = draw_sheet(replace(task, revised=revised))
            if drawn.sheet is None:
                raise LineError(drawn.problems)
            # The record is written first, so that every page on paper is known.
            revised.keep()
            write_whole(path, drawn.sheet)
            self.codes[path] = code_of_bytes(drawn.sheet)
            self.codes[revised.path] = code_of_bytes(revised.path.read_bytes())
            if not task.changed:
                return (path,)
            few_path = path.parent / CHANGED / path.name
            if drawn.few is None:
                # A file of an earlier revision would be taken for the changes of this one.
                few_path.unlink(missing_ok=True)
                return ()
            write_whole(few_path, drawn.few)
            return (few_path,)

    def _revised(self, place: int) -> Revised:
        return revised_sheet(self.production, self.shots[place], self.pictures.art, self.printed)


def revised_sheet(
    production: Production,
    one: ShotPlan,
    art: Mapping[str, Mapping[str, Art]],
    printed: ShotFiles | None = None,
) -> Revised:
    """Return the sheet of a shot with its revision; `printed` says where prints are recorded, if that is known."""
    characters = [cast.character for cast in one.cast]
    return revise(production, one.scene.id, characters, sheet_job(production, one, art), printed)


def sheet_job(production: Production, one: ShotPlan, art: Mapping[str, Mapping[str, Art]]) -> SheetJob:
    """Return what the sheet of a shot shows; `art` holds the studio's own pictures by character and code."""
    start_frame, drop = production.start_frame(one.shot)
    return SheetJob(
        production=production.file.title,
        scene=one.scene.title,
        shot=one.shot.id,
        rate=production.rate,
        frames=one.shot.frames,
        characters=tuple(_sheet_character(production, one, cast, art[cast.character]) for cast in one.cast),
        first_frame=production.file.first_frame,
        start_frame=start_frame,
        drop=drop,
        film=production.file.film,
        dated=one.scene.dated or production.file.dated,
        settings=production.file.sheet,
        filmed=one.filmed,
        alerts=tuple(alerts_of(production, one.asked.alert_facts)),
    )


def _sheet_character(production: Production, one: ShotPlan, cast: CastPlan, art: Mapping[str, Art]) -> SheetCharacter:
    mouth_set = cast.job.mouth_set
    beats, seen = beats_of(cast.sounds, production.rate, cast.pitches_hz), cast.track.pieces
    done = one.locked.as_filmed.get(cast.character, FilmedCells())
    to_come = keys(cast.track, cast.job)
    return SheetCharacter(
        name=production.file.characters[cast.character].name,
        mouth_set=mouth_set,
        track=cast.track,
        sounds=cast.sounds,
        level_db=cast.levels_db,
        modelling=notes_to_come(to_come, seen, done, one.filmed),
        beats=tuple(frame for frame in beats if frame < len(seen) and seen[frame] is not None),
        untold=cast.untold,
        art=art,
        as_filmed=done.cells,
        parts=production.parts_of(cast.character, one.shot),
        misfits=tuple((misfit.span[0], str(misfit)) for misfit in cast.misfits),
    )
