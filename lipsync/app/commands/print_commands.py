"""Prints and what goes with them: is a page still good, what changed, a shot's packet, and its track as data."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from lipsync.app.commands.command_line import (
    Answered,
    AsJson,
    Folder,
    Jobs,
    OnCluster,
    SceneOnly,
    ShotId,
    ShotOnly,
    finish,
    names,
    out_option,
    print_paths,
    progress_bars,
    say,
    working,
)
from lipsync.app.print.track_forms import FORM_NAMES, TrackForm
from lipsync.errors import ExitCode
from lipsync.report import Report

if TYPE_CHECKING:
    from lipsync.floor.state import SheetState
    from lipsync.production.values import Production


def check_print(
    folder: Folder,
    stamp: Annotated[str, typer.Argument(metavar="STAMP", help="The code at a page's foot, such as ABC-DE-FGH.")],
    as_json: AsJson = False,
) -> None:
    """Say which shot and revision a printed page is, whether it is still good, and what changed since."""
    from lipsync.app.answers import CheckPrintAnswer
    from lipsync.app.print.asking import check_print, prints_with
    from lipsync.production.loading import open_production

    production = open_production(folder)
    shot, known = prints_with(production, stamp)
    present, report = None, Report()
    if any(shot in (one.id, f"{scene.id}/{one.id}") for scene, one in production.shots()):
        present, report = _present(production, shot)
    verdict = check_print(production, (shot, known), stamp, present)

    def in_words() -> None:
        print(verdict.sentence)
        for text in verdict.since.sentences if verdict.since else ():
            print(f"  {text}")

    Answered(CheckPrintAnswer, verdict.record, report).give(in_words, as_json=as_json)


def check(folder: Folder, as_json: AsJson = False) -> None:
    """Read a whole production as all commands would, and tell every fault and all that is odd; listen to nothing.

    Ends with 0 where all is well, with 3 where something has to be mended, with 4 where something is odd only.
    """
    from lipsync.app.answers import CheckAnswer, answer_text
    from lipsync.app.checking import check as checked_production

    with progress_bars() as progress:
        checked = checked_production(folder, progress)
    if as_json:
        print(answer_text(CheckAnswer, {"production": str(folder)}, Report(checked.faults, checked.oddities)))
    say(*map(str, checked.faults), *map(str, checked.oddities))
    if not as_json:
        print(f"{folder}: {len(checked.faults)} to mend, {len(checked.oddities)} odd")
    if checked.faults or checked.oddities:
        raise typer.Exit(ExitCode.INPUT if checked.faults else ExitCode.PARTLY)


def compare(
    folder: Folder,
    shot: ShotId,
    before: Annotated[
        str | None,
        typer.Argument(metavar="BEFORE", help="A revision's letter or stamp; the newest print if not given."),
    ] = None,
    after: Annotated[
        str, typer.Argument(metavar="AFTER", help="A revision's letter or stamp; the present state if not given.")
    ] = "now",
    as_json: AsJson = False,
) -> None:
    """Say in words what differs between two states of a shot: two revisions, or a revision and the present state."""
    from lipsync.app.answers import CompareAnswer
    from lipsync.errors import LineError
    from lipsync.floor.compared import compare
    from lipsync.production.loading import open_production

    production = open_production(folder)
    production.shots(shot=shot)
    present, report = None, Report()
    if "now" in (after.lower(), (before or "").lower()):
        present, report = _present(production, shot)
        if present is None and report.problems:
            say(*map(str, report.messages))
            raise LineError(report.problems)
    compared = compare(production, shot, before, after, present)

    def in_words() -> None:
        print(f"shot {shot}, from {compared.before} to {compared.after}:" if compared.changes else "nothing changed")
        for text in compared.sentences:
            print(f"  {text}")

    Answered(CompareAnswer, compared.record, report).give(in_words, as_json=as_json)


def packet(
    folder: Folder,
    scene: SceneOnly = None,
    shot: ShotOnly = None,
    out: Annotated[Path | None, out_option("packets")] = None,
    jobs: Jobs = None,
    cluster: OnCluster = None,
    as_json: AsJson = False,
) -> None:
    """Print what goes to the set: for each shot a PDF with its sheet, charts, pieces to lay out and doubts to clear.

    Each scene gets one too, with a contents page, unless --shot names a single shot.
    """
    from lipsync.app.answers import PacketAnswer
    from lipsync.app.hear.heard import Only
    from lipsync.app.print.packing import write_packets
    from lipsync.app.renew.renewing import hear_and_plan
    from lipsync.production.loading import open_production

    production = open_production(folder)
    with working(jobs, cluster) as (progress, workers):
        plans = hear_and_plan(production, Only(scene, shot), progress, workers)
        printed = write_packets(production, plans, out, progress, scenes=shot is None)
    answered = Answered(PacketAnswer, {"files": names(printed.paths)}, plans.report + printed.report)
    answered.give_rows(paths=printed.paths, as_json=as_json)


def track(
    folder: Folder,
    scene: SceneOnly = None,
    shot: ShotOnly = None,
    forms: Annotated[
        list[TrackForm] | None,
        typer.Option(
            "--as",
            metavar="FORM",
            help=f"Write files in this form instead of printing: {FORM_NAMES}. May be given again.",
        ),
    ] = None,
    out: Annotated[Path | None, out_option("tracks")] = None,
    jobs: Jobs = None,
    cluster: OnCluster = None,
) -> None:
    """Show each shot's sheet as text, or write it for other programs: CSV, JSON, or timed text with words and pieces.

    They say what the printed sheet says, in the form "lipsync track 2".
    """
    from lipsync.app.hear.heard import Only
    from lipsync.app.print.tracking import track_texts, write_tracks
    from lipsync.app.renew.renewing import hear_and_plan
    from lipsync.production.loading import open_production

    production = open_production(folder)
    with working(jobs, cluster) as (progress, workers):
        plans = hear_and_plan(production, Only(scene, shot), progress, workers)
        written = write_tracks(production, plans, forms or (), out, progress)
    print_paths(written.paths)
    texts, report = ((), written.report) if forms else track_texts(production, plans)
    print("\n".join(texts), end="")
    finish(plans.report + report)


def overview(
    folder: Folder,
    page: Annotated[
        bool, typer.Option("--page", help="Also write sheets/overview.pdf, to hang on the wall.")
    ] = False,
    out: Annotated[Path | None, out_option("sheets")] = None,
    as_json: AsJson = False,
) -> None:
    """See how far the production is: lines heard, doubtful and checked, shots printed and filmed, seconds to do.

    Nothing is listened to. Names are the film's, then the scenes', then the characters'.
    """
    from lipsync.app.answers import OverviewAnswer
    from lipsync.app.index.production_index import ProductionIndex
    from lipsync.app.overview import not_done_of, overview, write_overview
    from lipsync.production.loading import open_production

    production = open_production(folder)
    with working() as (_, workers), ProductionIndex(production.folder) as index:
        state = overview(production, index, workers)
        paths = [write_overview(production, state, out)] if page else []
    report = state.report + Report(messages=not_done_of(state))
    answered = Answered(OverviewAnswer, {**state.record, "files": names(paths)}, report)
    answered.give_rows(state.rows(), paths=paths, as_json=as_json)


def _present(production: Production, shot: str) -> tuple[SheetState | None, Report]:
    """Return what the sheet of a shot would say now, and the messages about the shot."""
    from lipsync.app.hear.heard import Only
    from lipsync.app.print.asking import present_state
    from lipsync.app.renew.renewing import hear_and_plan

    with working() as (progress, workers):
        plans = hear_and_plan(production, Only(None, shot), progress, workers)
    scene, there = production.shots(shot=shot)[0]
    return present_state(production, plans, shot), plans.report.about_shot(scene.id, there.id)


COMMANDS = (check, check_print, compare, packet, track, overview)
