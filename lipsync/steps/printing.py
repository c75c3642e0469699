"""From tracks to paper: a sheet for each shot, and the count of pieces.

In: a production and its plans. Out: files in the production's `sheets/`, or in another folder, whole or not at all.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from pathlib import Path

from lipsync.alone import alone
from lipsync.errors import InputError, Problem
from lipsync.files import write_whole
from lipsync.filming.prints import FOLDER as PRINTS
from lipsync.filming.prints import prints_in
from lipsync.filming.revising import Revised, revise
from lipsync.fit.counting import CountRow, ShotTrack, count
from lipsync.fit.keys import keys
from lipsync.fit.settings import settings_for
from lipsync.production.values import Production
from lipsync.report import Progress, Report, no_progress
from lipsync.sheets.beats import beats_of
from lipsync.sheets.count_page import CountCharacter, CountJob, count_page
from lipsync.sheets.csv_table import csv_table
from lipsync.sheets.job import SheetCharacter, SheetJob, modelling_of
from lipsync.sheets.pdf import draw
from lipsync.sheets.pictures import Art, art_of
from lipsync.steps.alerts import alerts_of, alerts_over
from lipsync.steps.planning import CastPlan, Plans, ShotPlan


@dataclass(frozen=True, slots=True)
class Printed:
    """The files that were written, and which shots could not be printed."""

    paths: tuple[Path, ...]
    report: Report


def write_sheets(
    production: Production, plans: Plans, out: Path | None = None, progress: Progress = no_progress
) -> Printed:
    """Write the exposure sheet of each shot, each with its revision; what cannot be printed holds up no other shot.

    Raises:
        OutputError: if a file cannot be written.
    """
    folder = production.folder_for("sheets", out)
    art, printed = art_of_all(production), prints_in(production.folder)
    paths: list[Path] = []
    problems: list[Problem] = []
    for index, one in enumerate(plans.shots):
        progress("printing", index, len(plans.shots))
        path = folder / one.scene.id / f"{one.shot.id}.pdf"
        try:
            # Nobody else prints meanwhile: a letter is given once, and no older page is written over a newer one.
            with alone(production.folder / PRINTS):
                revised = revised_sheet(production, one, art, printed)
                content = draw(revised.document())
                # What is on paper is known: the record first, so that no page leaves without it.
                revised.keep()
                write_whole(path, content)
        except InputError as error:
            problems += not_printed(one, error)
            continue
        paths.append(path)
    progress("printing", len(plans.shots), len(plans.shots))
    return Printed(tuple(paths), Report(tuple(problems)))


def not_printed(one: ShotPlan, error: InputError) -> Iterator[Problem]:
    """Yield why a shot could not be printed; a fault of no file is one of the shot, in its scene's."""
    for problem in error.problems:
        if problem.file:
            yield problem
        else:
            yield Problem(str(one.scene.path), f'[[shot]] "{one.shot.id}"', problem.text)


def revised_sheet(
    production: Production,
    one: ShotPlan,
    art: Mapping[str, Mapping[str, Art]],
    printed: Mapping[str, Path] | None = None,
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
        characters=tuple(_sheet_character(production, cast, art[cast.character]) for cast in one.cast),
        first_frame=production.file.first_frame,
        start_frame=start_frame,
        drop=drop,
        film=production.file.film,
        dated=one.scene.dated or production.file.dated,
        settings=production.file.sheet,
        filmed=one.filmed,
        alerts=tuple(alerts_of(production, one)),
    )


def _sheet_character(production: Production, cast: CastPlan, art: Mapping[str, Art]) -> SheetCharacter:
    mouth_set = production.mouth_sets[cast.character]
    settings = settings_for(production.file.fitting, mouth_set.fitting)
    beats, seen = beats_of(cast.sounds, production.rate, cast.pitches_hz), cast.track.pieces
    return SheetCharacter(
        name=production.file.characters[cast.character].name,
        mouth_set=mouth_set,
        track=cast.track,
        sounds=cast.sounds,
        level_db=cast.levels_db,
        modelling=modelling_of(keys(cast.track, mouth_set, settings)),
        beats=tuple(frame for frame in beats if frame < len(seen) and seen[frame] is not None),
        art=art,
    )


def count_pieces(production: Production, plans: Plans) -> tuple[CountRow, ...]:
    """Return the count of each character's pieces over the shots planned."""
    return count(
        (ShotTrack(one.scene.id, one.shot.id, cast.track) for one in plans.shots for cast in one.cast),
        {key: character.puppets for key, character in production.file.characters.items()},
        {key: list(mouth_set.by_code) for key, mouth_set in production.mouth_sets.items()},
    )


def write_count(
    production: Production,
    plans: Plans,
    counts: tuple[CountRow, ...],
    out: Path | None = None,
    *,
    scene: str | None = None,
) -> tuple[Path, ...]:
    """Write the count as pages and as CSV, and return the files' paths; the pages say which lines are not counted.

    Args:
        production: the production.
        plans: what is counted.
        counts: the count.
        out: the folder to write to; sheets/ in the production if None.
        scene: the scene that alone is counted; files and pages are named for it.

    Raises:
        InputError: if a text has letters that no font here has, or a picture is missing.
        OutputError: if a file cannot be written.
    """
    folder = production.folder_for("sheets", out)
    pages, table = (folder / f"count{f'-{scene}' if scene else ''}.{kind}" for kind in ("pdf", "csv"))
    file = production.file
    titles = [file.title, *(one.title for one in production.scenes if one.id == scene)]
    alerts = alerts_over(production, plans.shots, plans.left_out)
    job = CountJob("  ·  ".join(titles), tuple(_counted(production, counts)), file.dated, file.sheet, alerts)
    write_whole(pages, draw(count_page(job)))
    write_whole(table, _csv(production, counts))
    return pages, table


def _counted(production: Production, counts: tuple[CountRow, ...]) -> Iterator[CountCharacter]:
    """Yield the characters that have pieces to count, in the production's order."""
    art = art_of_all(production)
    for key, character in production.file.characters.items():
        if rows := tuple(row for row in counts if row.character == key):
            mouth_set = production.mouth_sets[key]
            yield CountCharacter(character.name, character.puppets, mouth_set, rows, art[key])


def _csv(production: Production, counts: tuple[CountRow, ...]) -> bytes:
    rows: list[tuple[object, ...]] = [
        ("character", "code", "name", "frames_seen", "times_fitted", "scenes", "pieces_needed")
    ]
    for row in counts:
        piece = production.mouth_sets[row.character].by_code.get(row.code)
        numbers = (row.frames_seen, row.times_fitted, " ".join(row.scenes), row.pieces_needed)
        rows.append((row.character, row.code, piece.name if piece else "", *numbers))
    return csv_table(rows)


def art_of_all(production: Production) -> dict[str, Mapping[str, Art]]:
    """Return for each character the studio's own pictures of its pieces; they lie beside its mouth set."""
    folder = production.folder / "mouthsets"
    return {character: art_of(mouth_set, folder) for character, mouth_set in production.mouth_sets.items()}
