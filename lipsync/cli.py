"""The command line: parses, calls the pipeline, prints. Nothing is decided here.

Answers go to standard output, or as JSON with `--json`; messages and progress go to standard error.
"""

from __future__ import annotations

import json
import sys
from collections.abc import Iterable, Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer

from lipsync import __version__
from lipsync.errors import ExitCode, LipsyncError

if TYPE_CHECKING:
    from lipsync.pipeline import Progress, Report

app = typer.Typer(
    no_args_is_help=True,
    rich_markup_mode=None,
    pretty_exceptions_enable=False,
    add_completion=False,
    help="From recorded dialogue to the mouth piece on every frame: breakdowns, exposure sheets and piece counts.",
    epilog="A production is a folder; start one with `lipsync new FOLDER`, or see one at work with `lipsync demo`.",
)

Folder = Annotated[Path, typer.Argument(metavar="PRODUCTION", help="The production's folder.")]
SceneOnly = Annotated[str | None, typer.Option("--scene", metavar="ID", help="Only this scene.")]
ShotOnly = Annotated[str | None, typer.Option("--shot", metavar="ID", help="Only this shot.")]
AsJson = Annotated[bool, typer.Option("--json", help="Print the answer as JSON, for programs.")]
Out = Annotated[
    Path | None,
    typer.Option("--out", metavar="FOLDER", help="Where to write; sheets/ in the production if not given."),
]


@app.command()
def new(
    folder: Annotated[Path, typer.Argument(metavar="FOLDER", help="A folder that is not there yet.")],
    title: Annotated[str | None, typer.Option(help="The film's title; the folder's name if not given.")] = None,
) -> None:
    """Start a production: a folder with files to fill in."""
    from lipsync.new import start_production

    for path in start_production(folder, title):
        print(path)
    _say(f"Put recordings into {folder / 'recordings'}, fill in these files, then run: lipsync sheet {folder}")


@app.command()
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
        typer.Option(
            "--import", metavar="FILE", help="Take the corrections in this LINE.TextGrid."
        ),
    ] = None,
    take_new: Annotated[
        str | None,
        typer.Option(
            "--take-new", metavar="LINE", help="Let this line's newer computation replace the kept one."
        ),
    ] = None,
    as_json: AsJson = False,
) -> None:
    """Listen to the lines: which word and phoneme is heard when.

    Each line's breakdown is kept in breakdowns/, where it can be corrected; running again keeps corrections.
    """
    from lipsync import pipeline

    production = pipeline.open_production(folder)
    if bring is not None:
        _say(*pipeline.import_textgrid(production, bring))
    if take_new is not None:
        _say(*pipeline.take_newer(production, take_new))
    with _progress() as progress:
        heard = pipeline.hear(production, pipeline.Only(scene, shot), again=again, progress=progress)
        paths = pipeline.write_textgrids(production, heard) if textgrid else ()
    if as_json:
        lines = [pipeline.line_record(line) for line in heard.lines]
        _print_json({"lines": lines, "not_done": _problems(heard.report)})
    else:
        _print_lines(heard.lines)
        _print_paths(paths)
    _finish(heard.report)


@app.command()
def sheet(
    folder: Folder, scene: SceneOnly = None, shot: ShotOnly = None, out: Out = None, as_json: AsJson = False
) -> None:
    """Print the exposure sheets: for each shot a PDF that names the piece to fit on every frame."""
    from lipsync import pipeline

    production = pipeline.open_production(folder)
    with _progress() as progress:
        # All lines are heard, since sizes follow each character's own range over the whole production.
        heard = pipeline.hear(production, progress=progress)
        plans = pipeline.plan(production, heard, pipeline.Only(scene, shot), progress)
        paths = pipeline.write_sheets(production, plans, out, progress)
    report = heard.report + plans.report
    if as_json:
        _print_json({"sheets": [str(path) for path in paths], "not_done": _problems(report)})
    else:
        _print_paths(paths)
    _finish(report)


@app.command()
def count(folder: Folder, scene: SceneOnly = None, out: Out = None, as_json: AsJson = False) -> None:
    """Count the pieces that each character needs; also as count.csv and count.pdf."""
    from lipsync import pipeline

    production = pipeline.open_production(folder)
    with _progress() as progress:
        heard = pipeline.hear(production, progress=progress)
        plans = pipeline.plan(production, heard, pipeline.Only(scene), progress)
        counts = pipeline.count_pieces(production, plans)
        paths = pipeline.write_count(production, counts, out)
    report = heard.report + plans.report
    if as_json:
        _print_json(
            {
                "pieces": pipeline.count_records(counts),
                "files": [str(p) for p in paths],
                "not_done": _problems(report),
            }
        )
    else:
        _print_table(pipeline.count_records(counts))
        _print_paths(paths)
    _finish(report)


@app.command()
def demo(
    folder: Annotated[Path, typer.Argument(metavar="FOLDER", help="Where the sample production is put.")] = Path(
        "low-tide-post"
    ),
) -> None:
    """See the main job at work on the sample production, "Low Tide Post": sheets and a count."""
    from lipsync import pipeline

    pipeline.put_sample(folder)
    production = pipeline.open_production(folder)
    with _progress() as progress:
        heard = pipeline.hear(production, progress=progress)
        plans = pipeline.plan(production, heard, progress=progress)
        paths = pipeline.write_sheets(production, plans, None, progress)
        counts = pipeline.count_pieces(production, plans)
        paths += pipeline.write_count(production, counts, None)
    _print_table(pipeline.count_records(counts))
    _print_paths(paths)
    _finish(heard.report + plans.report)


@app.callback(invoke_without_command=True)
def _root(version: Annotated[bool, typer.Option("--version", help="Print the version.")] = False) -> None:
    if version:
        print(f"lipsync {__version__}")
        raise typer.Exit


def main() -> None:
    """Run the command line; every error that a person can mend ends in its sentence and its exit code."""
    try:
        app()
    except LipsyncError as error:
        _say(str(error))
        sys.exit(error.exit_code)
    except KeyboardInterrupt:
        _say("Stopped. What was finished is kept.")
        sys.exit(ExitCode.INTERRUPTED)


def _say(*texts: str) -> None:
    for text in texts:
        print(text, file=sys.stderr)


def _finish(report: Report) -> None:
    """Say what is to be known, then what was not done, and leave with the code for it."""
    _say(*report.messages)
    if report.problems:
        _say(*map(str, report.problems), f"Not done: {len(report.problems)}, as said above. Everything else is done.")
        raise typer.Exit(ExitCode.PARTLY)


def _problems(report: Report) -> list[str]:
    return [str(problem) for problem in report.problems]


def _print_paths(paths: Iterable[Path]) -> None:
    for path in paths:
        print(path)


def _print_json(value: Any) -> None:
    print(json.dumps(value, indent=2, ensure_ascii=False))


def _print_lines(lines: Iterable[Any]) -> None:
    from lipsync.pipeline import line_summary

    _print_table([line_summary(line) for line in lines])


def _print_table(rows: list[dict[str, Any]]) -> None:
    if not rows:
        return
    from rich.console import Console
    from rich.table import Table

    table = Table(*(key.replace("_", " ") for key in rows[0]), box=None, pad_edge=False)
    for row in rows:
        table.add_row(*(str(value) for value in row.values()))
    # A pipe has no width of its own: nothing is shortened there.
    console = Console() if sys.stdout.isatty() else Console(width=200)
    console.print(table, markup=False, highlight=False)


@contextmanager
def _progress() -> Iterator[Progress]:
    """Show how far the work is, on a terminal's standard error, once it takes longer than a second."""
    from rich.console import Console
    from rich.progress import BarColumn, MofNCompleteColumn, Progress, TextColumn, TimeElapsedColumn

    console = Console(stderr=True)
    columns = (TextColumn("{task.description}"), BarColumn(), MofNCompleteColumn(), TimeElapsedColumn())
    with Progress(*columns, console=console, transient=True, disable=not console.is_terminal) as bars:
        tasks: dict[str, Any] = {}

        def show(what: str, done: int, total: int) -> None:
            if what not in tasks:
                tasks[what] = bars.add_task(what, total=total)
            bars.update(tasks[what], completed=done, total=total)

        yield show
