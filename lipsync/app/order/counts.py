"""From tracks to the count of pieces: how many of each every character needs, as pages and as a table.

In: a production and its tracks. Out: files in the production's `sheets/`, or in another folder, whole or not at all.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator
from dataclasses import replace

from lipsync.app.index.production_index import code_of_bytes
from lipsync.app.plan.part_tracks import shot_tracks
from lipsync.app.plan.tracked import TrackedShot, TrackedShots
from lipsync.app.print.pictures import Pictures, pictures_of
from lipsync.app.print.printing import Printed
from lipsync.app.work.sparing import spared
from lipsync.errors import Problem
from lipsync.files import AnyPath, write_together
from lipsync.paper.count_page import CountCharacter, CountJob, count_page
from lipsync.paper.csv_table import csv_table
from lipsync.paper.pdf import draw
from lipsync.production.values import Production
from lipsync.report import Report
from lipsync.workshop.counting import CountRow, ShotTrack, count
from lipsync.workshop.order_rows import Reckoned
from lipsync.workshop.pressings import order
from lipsync.workshop.shooting import heads_of


def countable(production: Production, tracked: TrackedShots) -> TrackedShots:
    """Return the shots without those that cannot be counted: the report says why, and the pages name them.

    Only a fault of the program's own keeps a shot from being counted.
    """
    problems: list[Problem] = []
    shots: list[TrackedShot] = []
    left_out = list(tracked.left_out)
    for one in tracked.shots:
        left_out.append(one.shot)
        with spared(problems, one.scene.where(one.shot)):
            _seen_and_fitted(production, shot_tracks(production, one))
            shots.append(one)
            left_out.pop()
    return TrackedShots(tuple(shots), tracked.report + Report(tuple(problems)), tuple(left_out))


def count_pieces(production: Production, tracked: TrackedShots) -> tuple[CountRow, ...]:
    """Return the count of each character's pieces over the shots planned.

    A row for each character and piece, in the production's order of characters and the mouth set's of pieces. Where
    there is a shooting plan, as many pieces are needed as it takes, with spares and what is used up; what no puppet
    is to shoot needs none. Without one, each puppet needs one of each. `plan_counted` says which it is.
    """
    tracks = _tracks(production, tracked)
    counts = _seen_and_fitted(production, tracks)
    if not plan_counted(production):
        return counts
    heads = {key: heads_of(key, one.puppets, one.interchangeable) for key, one in production.file.characters.items()}
    needed: Counter[tuple[str, str]] = Counter()
    for row in order(production.file.shooting, tracks, production.mouth_sets, Reckoned(heads)).rows:
        needed[row.character, row.code] += row.pressings
    return tuple(replace(row, pieces_needed=needed[row.character, row.code]) for row in counts)


def _tracks(production: Production, tracked: TrackedShots) -> list[ShotTrack]:
    return [track for one in tracked.shots for track in shot_tracks(production, one)]


def _seen_and_fitted(production: Production, tracks: list[ShotTrack]) -> tuple[CountRow, ...]:
    """Return the count with one of each piece for each puppet."""
    puppets = {key: character.puppets for key, character in production.file.characters.items()}
    codes = {key: list(mouth_set.by_code) for key, mouth_set in production.mouth_sets.items()}
    return count(tracks, puppets, codes)


def plan_counted(production: Production) -> bool:
    """Whether pieces are counted by a shooting plan; without one it is one of each for each puppet."""
    return bool(production.file.shooting.shoot)


def write_count(
    production: Production,
    tracked: TrackedShots,
    counts: tuple[CountRow, ...],
    out: AnyPath | None = None,
    *,
    scene: str | None = None,
) -> Printed:
    """Write the count as pages and as CSV; the pages say which lines are not counted.

    Args:
        production: the production.
        tracked: what is counted.
        counts: the count.
        out: the folder to write to; sheets/ in the production if None.
        scene: the only scene counted, for the names of files and pages; None for all.

    Raises:
        InputError: if a text has letters that no font here has.
        OutputError: if a file cannot be written.
    """
    folder = production.folder_for("sheets", out)
    pages, table = (folder / f"count{f'-{scene}' if scene else ''}.{kind}" for kind in ("pdf", "csv"))
    file = production.file
    title = next((one.title for one in production.scenes if one.id == scene), "")
    alerts = tracked.alerts(production)
    pictures = pictures_of(production)
    cast = tuple(_counted(production, counts, pictures))
    how = file.sheet.words.count_planned if plan_counted(production) else file.sheet.words.count_unplanned
    job = CountJob(file.title, cast, file.dated, file.sheet, alerts, title, how)
    files = {pages: draw(count_page(job)), table: _csv(production, counts, alerts)}
    write_together(files)
    return Printed((pages, table), pictures.report, {path: code_of_bytes(held) for path, held in files.items()})


def _counted(production: Production, counts: tuple[CountRow, ...], pictures: Pictures) -> Iterator[CountCharacter]:
    """Yield the characters that have pieces to count, in the production's order."""
    for key, character in production.file.characters.items():
        if rows := tuple(row for row in counts if row.character == key):
            mouth_set = production.mouth_sets[key]
            yield CountCharacter(
                character.name, character.puppets, mouth_set, rows, pictures.art[key], production.part_codes[key]
            )


def _csv(production: Production, counts: tuple[CountRow, ...], alerts: tuple[str, ...]) -> bytes:
    """Return the count as a table; each row says of which film and date it is, and what is missing."""
    heads = ("character", "code", "name", "frames_seen", "times_fitted", "scenes", "pieces_needed")
    rows: list[tuple[object, ...]] = [(*heads, "film", "dated", "read_first")]
    dated = "" if production.file.dated is None else production.file.dated.isoformat()
    said = (production.file.title, dated, " ".join(alerts))
    for row in counts:
        piece = production.mouth_sets[row.character].by_code.get(row.code)
        numbers = (row.frames_seen, row.times_fitted, " ".join(row.scenes), row.pieces_needed)
        name = piece.name if piece else production.part_codes[row.character].get(row.code, "")
        rows.append((row.character, row.code, name, *numbers, *said))
    return csv_table(rows, for_spreadsheets=True)
