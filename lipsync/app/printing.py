"""From tracks to paper: a sheet for each shot.

In: a production and its plans. Out: files in the production's `sheets/`, or in another folder, whole or not at all.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path

from lipsync.app.alert_facts import alerts_of
from lipsync.app.pictures import pictures_of
from lipsync.app.planning import CastPlan, Plans, ShotPlan
from lipsync.app.sparing import spared
from lipsync.app.unchanged import InputsWatch
from lipsync.errors import Problem
from lipsync.file_lock import alone
from lipsync.files import AnyPath, write_whole
from lipsync.fit.keys import keys
from lipsync.floor.as_filmed import FilmedCells, notes_to_come
from lipsync.floor.prints import FOLDER as PRINTS
from lipsync.floor.prints import prints_in
from lipsync.floor.revising import Revised, revise
from lipsync.floor.shot_files import ShotFiles
from lipsync.paper.beats import beats_of
from lipsync.paper.pdf import draw
from lipsync.paper.piece_pictures import Art
from lipsync.paper.sheet_job import SheetCharacter, SheetJob
from lipsync.production.values import Production
from lipsync.report import Progress, Report, no_progress

# The folder beside sheets in which their changed pages stand.
CHANGED = "changed"


@dataclass(frozen=True, slots=True)
class Printed:
    """The files that were written, and which shots could not be printed."""

    paths: tuple[Path, ...]
    report: Report


def write_sheets(
    production: Production,
    plans: Plans,
    out: AnyPath | None = None,
    progress: Progress = no_progress,
    *,
    changed: bool = False,
) -> Printed:
    """Write the exposure sheet of each shot, each with its revision; what cannot be printed holds up no other shot.

    With `changed`, the pages that differ from the revision before stand in a file of their own too, in the folder
    `changed` beside the sheet, and only these files are returned: the sheet itself is always the whole newest one.

    Args:
        production: the production.
        plans: the shots.
        out: the folder to write to; sheets/ in the production if None.
        progress: told of each shot done.
        changed: whether the pages that differ are wanted.

    Returns:
        The files, and what could not be printed.

    Raises:
        OutputError: if a file cannot be written.
    """
    folder = production.folder_for("sheets", out)
    pictures, printed = pictures_of(production), prints_in(production)
    watch = InputsWatch(production, plans)
    paths: list[Path] = []
    problems: list[Problem] = []
    for index, one in enumerate(plans.shots):
        progress("printing", index, len(plans.shots))
        path = folder / one.scene.id / f"{one.shot.id}.pdf"
        with spared(problems, one.scene.where(one.shot)):
            # Nobody else prints meanwhile: a letter is given once, and no older page is written over a newer one.
            with alone(production.folder / PRINTS):
                watch.check(one)
                revised = revised_sheet(production, one, pictures.art, printed)
                watch.check_revision(one, revised)
                content = draw(revised.document())
                # What is on paper is known: the record first, so that no page leaves without it.
                revised.keep()
                write_whole(path, content)
                few = revised.changed_document() if changed else None
                few_path = path.parent / CHANGED / path.name
                if few is not None:
                    write_whole(few_path, draw(few))
                elif changed:
                    # What changed once before is no news: an old file would be taken for one.
                    few_path.unlink(missing_ok=True)
            paths += [few_path] * (few is not None) if changed else [path]
    progress("printing", len(plans.shots), len(plans.shots))
    return Printed(tuple(paths), pictures.report + Report(tuple(problems)))


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
        alerts=tuple(alerts_of(production, one.asked)),
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
    )
