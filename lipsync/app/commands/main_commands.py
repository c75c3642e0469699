"""The main job: start a production, listen, print sheets, count pieces, see it at work."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from lipsync.app.commands.command_line import (
    AsJson,
    Folder,
    Out,
    SceneOnly,
    ShotOnly,
    finish,
    names,
    print_answer,
    print_paths,
    print_table,
    progress_bars,
    say,
)


def new(
    folder: Annotated[Path, typer.Argument(metavar="FOLDER", help="A folder that is not there yet.")],
    title: Annotated[str | None, typer.Option(help="The film's title; the folder's name if not given.")] = None,
) -> None:
    """Start a production: a folder with files to fill in."""
    from lipsync.app import pipeline

    for path in pipeline.start_production(folder, title):
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
    as_json: AsJson = False,
) -> None:
    """Listen to the lines: which word and phoneme is heard when.

    Each line's breakdown is kept in breakdowns/, where it can be corrected; running again keeps corrections.
    """
    from lipsync.app import pipeline

    production = pipeline.open_production(folder)
    if bring is not None:
        say(*pipeline.import_textgrid(production, bring))
    if take_new is not None:
        say(*pipeline.take_newer(production, take_new))
    with progress_bars() as progress:
        heard = pipeline.hear(production, pipeline.Only(scene, shot), again=again, progress=progress)
        paths = pipeline.write_textgrids(production, heard) if textgrid else ()
    record = {"lines": [pipeline.line_record(line) for line in heard.lines]}
    rows = [pipeline.line_summary(line) for line in heard.lines]
    print_answer(record, heard.report, as_json, rows=rows, paths=paths)


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
    as_json: AsJson = False,
) -> None:
    """Print the exposure sheets: for each shot a PDF that names the piece to fit on every frame."""
    from lipsync.app import pipeline

    production = pipeline.open_production(folder)
    with progress_bars() as progress:
        plans = pipeline.hear_and_plan(production, pipeline.Only(scene, shot), progress)
        printed = pipeline.write_sheets(production, plans, out, progress, changed=changed)
    print_answer({"sheets": names(printed.paths)}, plans.report + printed.report, as_json, paths=printed.paths)


def count(folder: Folder, scene: SceneOnly = None, out: Out = None, as_json: AsJson = False) -> None:
    """Count the pieces that each character needs; also as count.csv and count.pdf, of a scene as count-SCENE."""
    from lipsync.app import pipeline

    production = pipeline.open_production(folder)
    with progress_bars() as progress:
        plans = pipeline.hear_and_plan(production, pipeline.Only(scene), progress)
        counts = pipeline.count_pieces(production, plans)
        paths = pipeline.write_count(production, plans, counts, out, scene=scene)
    rows = pipeline.count_records(counts)
    print_answer({"pieces": rows, "files": names(paths)}, plans.report, as_json, rows=rows, paths=paths)


def demo(
    folder: Annotated[Path, typer.Argument(metavar="FOLDER", help="Where the sample production is put.")] = Path(
        "low-tide-post"
    ),
) -> None:
    """See the main job at work on the sample production, "Low Tide Post": sheets and a count."""
    from lipsync.app import pipeline

    pipeline.put_sample(folder)
    production = pipeline.open_production(folder)
    with progress_bars() as progress:
        plans = pipeline.hear_and_plan(production, progress=progress)
        printed = pipeline.write_sheets(production, plans, None, progress)
        counts = pipeline.count_pieces(production, plans)
        paths = pipeline.write_count(production, plans, counts, None)
    print_table(pipeline.count_records(counts))
    print_paths((*printed.paths, *paths))
    finish(plans.report + printed.report)


COMMANDS = (new, breakdown, sheet, count, demo)
