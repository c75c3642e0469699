"""The main job: start a production, listen, print sheets, count pieces, see it at work."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from lipsync.app.commands.command_line import (
    Answered,
    AsJson,
    Folder,
    Jobs,
    OnCluster,
    Out,
    SceneOnly,
    ShotOnly,
    finish,
    names,
    print_paths,
    print_table,
    say,
    working,
)


def new(
    folder: Annotated[Path, typer.Argument(metavar="FOLDER", help="A folder that is not there yet, or is empty.")],
    title: Annotated[str | None, typer.Option(help="The film's title; the folder's name if not given.")] = None,
) -> None:
    """Start a production: a folder with files to fill in."""
    from lipsync.production.starting import start_production

    for path in start_production(folder, title):
        print(path)
    say(f"Put recordings into {folder / 'recordings'}, fill in these files, then run: lipsync sheet {folder}")


def breakdown(
    folder: Folder,
    scene: SceneOnly = None,
    shot: ShotOnly = None,
    again: Annotated[bool, typer.Option("--again", help="Listen again, also where nothing changed.")] = False,
    textgrid: Annotated[
        bool, typer.Option("--textgrid", help="Also write each breakdown as a TextGrid, for phonetics editors.")
    ] = False,
    bring: Annotated[
        Path | None,
        typer.Option("--import", metavar="FILE", help="Take the corrections in this LINE.TextGrid."),
    ] = None,
    take_new: Annotated[
        str | None,
        typer.Option("--take-new", metavar="LINE", help="Let this line's newer computation replace the kept one."),
    ] = None,
    jobs: Jobs = None,
    cluster: OnCluster = None,
    as_json: AsJson = False,
) -> None:
    """Listen to the lines: which word and phoneme is heard when.

    Each line's breakdown is kept in breakdowns/, where it can be corrected; running again keeps corrections.
    """
    from lipsync.app.amend.amending import import_textgrid, take_newer, write_textgrids
    from lipsync.app.answers import BreakdownAnswer
    from lipsync.app.hear.heard import Only, lines_of
    from lipsync.app.records import line_record, line_rows, voice_records, voice_rows
    from lipsync.app.renew.renewing import hear_and_keep
    from lipsync.production.loading import open_production

    production, only = open_production(folder), Only(scene, shot)
    if bring is not None:
        say(*map(str, import_textgrid(production, bring)))
    if take_new is not None:
        named = take_new if scene is None or ":" in take_new else f"{scene}:{take_new}"
        say(*map(str, take_newer(production, named)))
    with working(jobs, cluster) as (progress, workers):
        heard = hear_and_keep(production, only, progress, workers, again=again)
        paths = write_textgrids(production, heard) if textgrid else ()
    lines, voices = [line_record(line) for line in heard.lines], voice_records(production)
    record = {"lines": lines, "voices": voices, "files": names(paths)}
    rows = line_rows(lines_of(production, only), heard.lines)
    if not as_json:
        print_table(voice_rows(production))
    Answered(BreakdownAnswer, record, heard.report).give_rows(rows, paths=paths, as_json=as_json)


def sheet(
    folder: Folder,
    scene: SceneOnly = None,
    shot: ShotOnly = None,
    changed: Annotated[
        bool,
        typer.Option(
            "--changed", help="Only the pages that differ from the revision before, into a folder `changed`."
        ),
    ] = False,
    out: Out = None,
    jobs: Jobs = None,
    cluster: OnCluster = None,
    as_json: AsJson = False,
) -> None:
    """Print the exposure sheets: for each shot a PDF that names the piece to fit on every frame."""
    from lipsync.app.renew.standing_answer import part_of, standing_answer

    # Kept for the whole production only: a part depends on as many files, and there are many parts.
    answer = None if changed else standing_answer(folder, "sheet", f"{folder} {out}")
    if answer is not None and (scene or shot):
        answer = part_of(answer, scene, shot)
    if answer is None:
        from lipsync.app.answering import SheetsAsked, sheets_answer

        with working(jobs, cluster) as (progress, workers):
            answer = sheets_answer(folder, SheetsAsked(scene, shot, out, changed), progress, workers)
    if as_json:
        from lipsync.app.answers import SheetAnswer

        Answered(SheetAnswer, {"files": names(answer.paths)}, answer.report).give_rows(as_json=True)
    else:
        print_paths(answer.paths)
        finish(answer.report)


def count(
    folder: Folder,
    scene: SceneOnly = None,
    out: Out = None,
    jobs: Jobs = None,
    cluster: OnCluster = None,
    as_json: AsJson = False,
) -> None:
    """Count the pieces that each character needs; also as count.csv and count.pdf, of a scene as count-SCENE.

    Where there is a shooting plan, as many are needed as it takes, with spares and what is used up.
    """
    from lipsync.app.renew.standing_answer import standing_answer

    answer = None if scene else standing_answer(folder, "count", f"{folder} {out}")
    if answer is None:
        from lipsync.app.answering import count_answer

        with working(jobs, cluster) as (progress, workers):
            answer = count_answer(folder, scene, out, progress, workers)
    rows, how = answer.record["pieces"], answer.record["how"]
    if as_json:
        from lipsync.app.answers import CountAnswer

        record = {"by_plan": answer.record["by_plan"], "pieces": rows, "files": names(answer.paths)}
        Answered(CountAnswer, record, answer.report).give_rows(as_json=True)
    else:
        print_table(rows)
        print(how)
        print_paths(answer.paths)
        finish(answer.report)


def demo(
    folder: Annotated[Path, typer.Argument(metavar="FOLDER", help="Where the sample production is put.")] = Path(
        "low-tide-post"
    ),
) -> None:
    """See the main job at work on the sample production, "Low Tide Post": sheets and a count."""
    from lipsync.app.hear.heard import Only
    from lipsync.app.index.production_index import ProductionIndex
    from lipsync.app.order.counts import count_pieces, countable, write_count
    from lipsync.app.records import count_records
    from lipsync.app.renew.renewing import Renewing
    from lipsync.production.loading import open_production
    from lipsync.production.sample import put_sample

    put_sample(folder)
    production = open_production(folder)
    with working() as (progress, workers), ProductionIndex(folder) as index:
        renewing = Renewing(production, index, progress, workers)
        printed = renewing.sheets(Only())
        tracked = countable(production, renewing.tracked(Only()))
        counts = count_pieces(production, tracked)
        made = write_count(production, tracked, counts, None)
    print_table(count_records(counts))
    print_paths((*printed.paths, *made.paths))
    finish((printed.report + tracked.report).once())


COMMANDS = (new, breakdown, sheet, count, demo)
