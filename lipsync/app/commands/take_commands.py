"""Lists, edits, scripts and recordings taken into a production, again after a re-cut, and given out."""

from __future__ import annotations

import sys
from datetime import datetime
from enum import StrEnum
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from lipsync.app.commands.command_line import (
    Answered,
    AsJson,
    Folder,
    SceneOnly,
    names,
    out_option,
    print_table,
    progress_bars,
    say,
    working,
)

if TYPE_CHECKING:
    from lipsync.app.take.taking import Taking


def take(
    folder: Folder,
    files: Annotated[
        list[Path],
        typer.Argument(
            metavar="FILE...",
            help="Lists (.csv, .xlsx), edits (.edl, .otio), subtitles (.srt, .vtt), scripts (.txt), recordings.",
        ),
    ],
    scene: Annotated[
        str | None, typer.Option("--scene", metavar="ID", help="The scene that is meant where none is named.")
    ] = None,
    part: Annotated[
        bool, typer.Option("--part", help="The files are a part of their scenes: what they do not name stays.")
    ] = False,
    filmed: Annotated[
        list[str] | None,
        typer.Option(
            "--filmed", metavar="SCENE/SHOT", help="This shot may change though frames of it are in the can."
        ),
    ] = None,
    leave: Annotated[
        list[str] | None,
        typer.Option("--leave", metavar="SCENE/SHOT", help="This shot stays as it is, whatever the files say."),
    ] = None,
    recordings: Annotated[
        list[Path] | None,
        typer.Option("--recordings", metavar="FOLDER", help="Look for recordings here as well; may be given again."),
    ] = None,
    dry_run: Annotated[bool, typer.Option("--dry-run", help="Show what would change, and write nothing.")] = False,
    yes: Annotated[bool, typer.Option("--yes", help="Write without asking.")] = False,
    as_json: AsJson = False,
) -> None:
    """Take lines and shots in from lists, edits, scripts and recordings, or again after a re-cut.

    What changes is shown first. Remarks and order in the scenes' files stay, and so do corrections.
    """
    from lipsync.app.answers import TakeAnswer
    from lipsync.app.take.taking import TakeOptions, find_taking, take_records, take_rows, write_taking

    options = TakeOptions(scene, part, tuple(filmed or ()), tuple(leave or ()), tuple(recordings or ()))
    with progress_bars() as progress:
        taking = find_taking(folder, files, options, progress)
    if not as_json:
        print_table(take_rows(taking.differences))
    say(_summary(taking))
    paths = (
        () if dry_run or not _allowed(changes=bool(taking.files), yes=yes, as_json=as_json) else write_taking(taking)
    )
    record = {"changes": take_records(taking.differences), "files": names(paths)}
    Answered(TakeAnswer, record, taking.report).give_rows(paths=paths, as_json=as_json)


def _summary(taking: Taking) -> str:
    shots = {(one.scene, one.shot) for one in taking.differences}
    count = len(taking.differences)
    if not count:
        return "Nothing changes."
    return f"{count} change{'s' if count > 1 else ''} in {len(shots)} shot{'s' if len(shots) > 1 else ''}."


def _allowed(*, changes: bool, yes: bool, as_json: bool) -> bool:
    """Return whether to write: asked for where a person sits, else only with --yes."""
    from lipsync.errors import InputError
    from lipsync.message import Where

    if yes or not changes:
        return True
    if as_json or not sys.stdin.isatty():
        raise InputError.of("nobody to ask", Where())
    return typer.confirm("Write this?", default=False, err=True)


def stock(
    folder: Folder,
    files: Annotated[
        list[Path],
        typer.Argument(
            metavar="FILE...",
            help="Sheets (.csv, .xlsx) with the columns character, piece, puppet, there is, fitted, broke, ordered.",
        ),
    ],
    counted: Annotated[
        datetime | None,
        typer.Option(
            "--counted", formats=["%Y-%m-%d"], metavar="DAY", help="On this day's evening; today if not given."
        ),
    ] = None,
    dry_run: Annotated[bool, typer.Option("--dry-run", help="Show what would change, and write nothing.")] = False,
    yes: Annotated[bool, typer.Option("--yes", help="Write without asking.")] = False,
    as_json: AsJson = False,
) -> None:
    """Take what was counted at the shelf into stock.toml: what there is of each piece, what broke, what is ordered.

    What changes is shown first. All else in stock.toml stays as people wrote it.
    """
    from lipsync.app.answers import StockAnswer
    from lipsync.app.order.stock_taking import find_stock, write_stock
    from lipsync.production.loading import open_production

    day = (counted or datetime.now()).date()  # of the desk's own calendar
    taking = find_stock(open_production(folder), files, day)
    if not as_json:
        print_table(taking.changes)
    count = len(taking.changes)
    say(
        f"{count} number{'s' if count > 1 else ''} change{'' if count > 1 else 's'}."
        if count
        else "No number changes."
    )
    write = not dry_run and _allowed(changes=taking.after != taking.before, yes=yes, as_json=as_json)
    paths = write_stock(taking) if write else ()
    record = {"counted": day.isoformat(), "changes": list(taking.changes), "files": names(paths)}
    Answered(StockAnswer, record, taking.report).give_rows(paths=paths, as_json=as_json)


class GivenForm(StrEnum):
    """What a production can be given out as; the same names as in giving.py, which is imported late."""

    LIST = "list"
    WORKBOOK = "workbook"
    TIMELINE = "timeline"
    SRT = "srt"
    WEBVTT = "webvtt"


def give(
    folder: Folder,
    scene: SceneOnly = None,
    forms: Annotated[
        list[GivenForm] | None,
        typer.Option(
            "--as",
            metavar="FORM",
            help="list (CSV), workbook (XLSX, with the tracks), timeline (.otio), srt or webvtt. May be given again; "
            "list if not given.",
        ),
    ] = None,
    out: Annotated[Path | None, out_option("given")] = None,
    as_json: AsJson = False,
) -> None:
    """Give the production out again, a file for each scene: as a dialogue list, a timeline, or subtitles.

    A list or a timeline that is taken in again says the same production.
    """
    from lipsync.app.answers import GiveAnswer
    from lipsync.app.hear.heard import Only
    from lipsync.app.renew.renewing import lines_and_plans
    from lipsync.app.take.giving import NEEDS_PLANS, Giving, write_given
    from lipsync.production.loading import open_production
    from lipsync.report import Report

    production = open_production(folder)
    wanted = [str(form) for form in forms or [GivenForm.LIST]]
    production.shots(scene)
    giving = Giving(production, tuple(one for one in production.scenes if scene in (None, one.id)))
    report = Report()
    if any(NEEDS_PLANS[form] for form in wanted):
        with working() as (progress, workers):
            heard, plans = lines_and_plans(production, Only(scene), progress, workers)
        giving = Giving(production, giving.scenes, heard, plans)
        report = plans.report
    paths, told = write_given(giving, wanted, out)
    Answered(GiveAnswer, {"files": names(paths)}, report + told).give_rows(paths=paths, as_json=as_json)


COMMANDS = (take, stock, give)
