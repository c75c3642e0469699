"""What the commands share: their common arguments, and how they print.

Answers go to standard output, or as JSON with `--json`; messages and progress go to standard error.
"""

from __future__ import annotations

import sys
from collections.abc import Callable, Iterable, Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer

from lipsync.errors import ExitCode, LipsyncError, Problem, ProblemsError
from lipsync.report import Report, no_progress

if TYPE_CHECKING:
    from lipsync.app.answers import Answer
    from lipsync.app.work.workers import Pool, Workers
    from lipsync.report import Progress

Folder = Annotated[Path, typer.Argument(metavar="PRODUCTION", help="The production's folder.")]
SceneOnly = Annotated[str | None, typer.Option("--scene", metavar="ID", help="Only this scene.")]
ShotOnly = Annotated[
    str | None,
    typer.Option("--shot", metavar="ID", help="Only this shot: SCENE/SHOT, or its id where no other scene has it."),
]
ShotId = Annotated[
    str, typer.Argument(metavar="SHOT", help="SCENE/SHOT, or the shot's id where no other scene has it.")
]
Jobs = Annotated[
    int | None,
    typer.Option(
        "--jobs", metavar="N", help="How many lines or pages are worked on at once; as many as cores if not given."
    ),
]
OnCluster = Annotated[
    str | None,
    typer.Option(
        "--cluster",
        metavar="ADDRESS",
        help="Have the work done by a Dask cluster, by its scheduler's address, such as tcp://10.0.0.5:8786.",
    ),
]
AsJson = Annotated[bool, typer.Option("--json", help="Print the answer as JSON, for programs.")]


def out_option(folder: str) -> Any:
    """Return the option `--out`; `folder` is the production's own folder that is written to without it."""
    return typer.Option("--out", metavar="FOLDER", help=f"Where to write; {folder}/ in the production if not given.")


Out = Annotated[Path | None, out_option("sheets")]


def say(*texts: str) -> None:
    """Print messages to standard error."""
    for text in texts:
        print(text, file=sys.stderr)


def finish(report: Report) -> None:
    """Print the messages, then what was not done; if anything was not done, leave with its exit code."""
    say(*map(str, report.messages))
    if report.problems:
        say(*map(str, report.problems), f"Not done: {len(report.problems)}, as said above. Everything else is done.")
        raise typer.Exit(ExitCode.PARTLY)


def names(paths: Iterable[Path]) -> list[str]:
    """Return paths as text, for JSON."""
    return [str(path) for path in paths]


@dataclass(frozen=True, slots=True)
class Answered:
    """What a command has to answer.

    Attributes:
        form: the form of the answer for a program; of answers.py.
        record: what it holds, apart from what every answer has.
        report: what was not done, and what is to be known.
    """

    form: type[Answer]
    record: dict[str, Any]
    report: Report

    def give(self, in_words: Callable[[], None], *, as_json: bool) -> None:
        """Print the answer, as JSON or in words; then `finish`."""
        from lipsync.app.answers import answer_text

        if as_json:
            print(answer_text(self.form, self.record, self.report))
        else:
            in_words()
        finish(self.report)

    def give_rows(
        self, rows: Sequence[dict[str, Any]] = (), *, paths: Iterable[Path] = (), as_json: bool = False
    ) -> None:
        """Print the answer, as JSON or as a table and the paths of written files; then `finish`."""

        def in_words() -> None:
            print_table(rows)
            print_paths(paths)

        self.give(in_words, as_json=as_json)


def print_refusal(error: LipsyncError) -> None:
    """Print a refusal as JSON: that nothing was done, and why; the same is printed in words on standard error."""
    from lipsync.app.answers import Refusal, answer_text

    problems = error.problems if isinstance(error, ProblemsError) else (Problem("", "", str(error)),)
    print(answer_text(Refusal, {"exit_code": int(error.exit_code)}, Report(problems)))


def print_paths(paths: Iterable[Path]) -> None:
    """Print the files that were written."""
    for path in paths:
        print(path)


# Letters in a row of a table that goes to a pipe or a file (chosen).
_PIPE_WIDTH = 200


def print_table(rows: Sequence[dict[str, Any]]) -> None:
    """Print rows that have the same keys as a table; nothing if there are none."""
    if not rows:
        return
    from rich.console import Console
    from rich.table import Table

    table = Table(*(key.replace("_", " ") for key in rows[0]), box=None, pad_edge=False)
    for row in rows:
        table.add_row(*map(_cell, row.values()))
    # A pipe has no width: the table is as wide as this, so that nothing is shortened.
    console = Console() if sys.stdout.isatty() else Console(width=_PIPE_WIDTH)
    console.print(table, markup=False, highlight=False)


def _cell(value: object) -> str:
    """Return a value as a table shows it: nothing for None, and what a list holds in one cell."""
    if isinstance(value, list):
        return " ".join(map(str, value))
    return "" if value is None else str(value)


@contextmanager
def working(jobs: int | None = None, cluster: str | None = None) -> Iterator[tuple[Progress, Workers]]:
    """Show how far the work is, and have it done by so many workers; by all cores that may be used if None.

    With the address of a cluster it is done there, by all its workers or by so many.

    On a terminal's standard error it is told, of each kind of work: how many are done, how long it took and may yet
    take, and what is worked on.

    Raises:
        InputError: if there is to be no worker, or the cluster cannot be used.
    """
    from lipsync.app.work.workers import Workers

    with (
        _bars() as (progress, running),
        Workers(_pool(jobs, cluster), running, lambda told: say(str(told))) as workers,
    ):
        yield progress, workers


def _pool(jobs: int | None, cluster: str | None) -> Pool:
    if cluster is not None:
        from lipsync.app.work.cluster import Cluster

        return Cluster(cluster, jobs)
    from lipsync.app.work.processes import Processes, usable_cores

    return Processes(usable_cores() if jobs is None else jobs)


@contextmanager
def progress_bars() -> Iterator[Progress]:
    """Show how far the work is, on a terminal's standard error, once it takes longer than a second."""
    with _bars() as (progress, _):
        yield progress


@contextmanager
def _bars() -> Iterator[tuple[Progress, Callable[[Sequence[object]], None]]]:
    if not sys.stderr.isatty():  # nobody sees it, and what draws it takes time to load
        yield no_progress, lambda _: None
        return
    from rich.console import Console
    from rich.progress import (
        BarColumn,
        MofNCompleteColumn,
        Progress,
        TextColumn,
        TimeElapsedColumn,
        TimeRemainingColumn,
    )

    console = Console(stderr=True)
    columns = (TextColumn("{task.description}"), BarColumn(), MofNCompleteColumn(), TimeElapsedColumn())
    left = (TimeRemainingColumn(), TextColumn("{task.fields[now]}", markup=False))
    with Progress(*columns, *left, console=console, transient=True) as bars:
        tasks: dict[str, Any] = {}

        def show(what: str, done: int, total: int) -> None:
            if what not in tasks:
                tasks[what] = bars.add_task(what, total=total, now="")
            bars.update(tasks[what], completed=done, total=total)

        def running(in_hand: Sequence[object]) -> None:
            if tasks:
                bars.update([*tasks.values()][-1], now=" ".join(map(str, in_hand)))

        yield show, running
