"""On the floor: what is in the can, which print is good, what changed, and a shot's packet."""

from __future__ import annotations

import datetime
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from lipsync.commands.shared import (
    AsJson,
    Folder,
    SceneOnly,
    ShotOnly,
    finish,
    print_json,
    print_paths,
    print_table,
    problems,
    progress_bars,
)

if TYPE_CHECKING:
    from lipsync.filming.state import State
    from lipsync.production.values import Production
    from lipsync.report import Report

ShotId = Annotated[str, typer.Argument(metavar="SHOT", help="The shot's id.")]
Upto = Annotated[int | None, typer.Option("--upto", metavar="FRAME", help="From the shot's first frame to this one.")]
First = Annotated[int | None, typer.Option("--from", metavar="FRAME", help="The first frame; with --to.")]
Last = Annotated[int | None, typer.Option("--to", metavar="FRAME", help="The last frame; with --from.")]
Dated = Annotated[str | None, typer.Option("--dated", metavar="DATE", help="A date for the record: 2026-11-24.")]


def lock(
    folder: Folder,
    shot: ShotId,
    upto: Upto = None,
    first: First = None,
    last: Last = None,
    wore: Annotated[
        list[str] | None,
        typer.Option(
            "--wore",
            metavar="FRAME=CODE",
            help="What was really worn: 12=OPEN2, 12-14=heron:OPEN2, 12=- for off camera. May be given again.",
        ),
    ] = None,
    revision: Annotated[
        str | None,
        typer.Option("--revision", metavar="LETTER", help="The print filmed from; the newest if not given."),
    ] = None,
    dated: Dated = None,
) -> None:
    """Lock frames that are in the can: every plan keeps them from now on, as they were filmed.

    What was worn is what the print said, or what --wore says. Of frames that are locked already, --wore mends the
    record.
    """
    from lipsync import pipeline
    from lipsync.errors import InputError

    production = pipeline.open_production(folder)
    span = _span(production, upto, first, last)
    if span is None and not wore:
        raise InputError.one("", "", "say which frames: --upto FRAME, --from FRAME --to FRAME, or --wore FRAME=CODE")
    for text in pipeline.lock(production, shot, span, tuple(wore or ()), revision=revision, dated=_date(dated)):
        print(text)


def unlock(
    folder: Folder,
    shot: ShotId,
    upto: Upto = None,
    first: First = None,
    last: Last = None,
    reason: Annotated[str, typer.Option("--reason", metavar="TEXT", help="Why, for the record.")] = "",
    dated: Dated = None,
) -> None:
    """Take back a lock that was a slip: the frames are planned again. The record keeps that it was there."""
    from lipsync import pipeline

    production = pipeline.open_production(folder)
    span = _wanted(production, upto, first, last)
    for text in pipeline.take_back(production, shot, span, reason=reason, dated=_date(dated)):
        print(text)


def refilm(
    folder: Folder,
    shot: ShotId,
    reason: Annotated[str, typer.Option("--reason", metavar="TEXT", help="Why the take is filmed again.")],
    upto: Upto = None,
    first: First = None,
    last: Last = None,
    dated: Dated = None,
) -> None:
    """Unlock frames whose take is filmed again. The record keeps both takes, and the reason."""
    from lipsync import pipeline

    production = pipeline.open_production(folder)
    span = _wanted(production, upto, first, last)
    for text in pipeline.film_again(production, shot, span, reason, dated=_date(dated)):
        print(text)


def filmed(folder: Folder, scene: SceneOnly = None, shot: ShotOnly = None, as_json: AsJson = False) -> None:
    """Show what is in the can: how much of each shot; with --shot also what happened to it, in order."""
    from lipsync import pipeline

    production = pipeline.open_production(folder)
    if as_json:
        print_json({"shots": pipeline.filmed_records(production, scene, shot)})
        return
    print_table(pipeline.filmed_rows(production, scene, shot))
    if shot is not None:
        print_table(pipeline.event_rows(production, shot))


def check_print(
    folder: Folder,
    stamp: Annotated[str, typer.Argument(metavar="STAMP", help="The code at a page's foot, such as ABC-DE-FGH.")],
    as_json: AsJson = False,
) -> None:
    """Say which shot and revision a printed page is, whether it is still good, and what changed since."""
    from lipsync import pipeline

    production = pipeline.open_production(folder)
    known = pipeline.prints_with(production, stamp)
    present, report = None, None
    if any(shot.id == known.shot for _, shot in production.shots()):
        present, report = _present(production, known.shot)
    verdict = pipeline.check_print(production, known, stamp, present)
    if as_json:
        print_json(verdict.record)
    else:
        print(verdict.sentence)
        for text in verdict.since.sentences if verdict.since else ():
            print(f"  {text}")
    if report is not None:
        finish(report)


def compare(
    folder: Folder,
    shot: ShotId,
    before: Annotated[
        str | None,
        typer.Argument(metavar="[BEFORE]", help="A revision's letter or stamp; the newest print if not given."),
    ] = None,
    after: Annotated[
        str, typer.Argument(metavar="[AFTER]", help="A revision's letter or stamp; the present state if not given.")
    ] = "now",
    as_json: AsJson = False,
) -> None:
    """Say in words what differs between two states of a shot: two revisions, or a revision and the present state."""
    from lipsync import pipeline

    production = pipeline.open_production(folder)
    production.shots(shot=shot)
    present, report = None, None
    if "now" in (after.lower(), (before or "").lower()):
        present, report = _present(production, shot)
        if present is None:
            finish(report)
    compared = pipeline.compare(production, shot, before, after, present)
    if as_json:
        print_json(compared.record)
    else:
        print(f"shot {shot}, from {compared.before} to {compared.after}:" if compared.changes else "nothing changed")
        for text in compared.sentences:
            print(f"  {text}")
    if report is not None:
        finish(report)


def packet(
    folder: Folder,
    scene: SceneOnly = None,
    shot: ShotOnly = None,
    out: Annotated[
        Path | None,
        typer.Option("--out", metavar="FOLDER", help="Where to write; packets/ in the production if not given."),
    ] = None,
    as_json: AsJson = False,
) -> None:
    """Print what goes to the set: for each shot a PDF with its sheet, charts, pieces to lay out and doubts to clear.

    Each scene gets one too, with a contents page, unless --shot names a single shot.
    """
    from lipsync import pipeline

    production = pipeline.open_production(folder)
    with progress_bars() as progress:
        heard = pipeline.hear(production, progress=progress)
        plans = pipeline.plan(production, heard, pipeline.Only(scene, shot), progress)
        paths = pipeline.write_packets(production, plans, out, progress, scenes=shot is None)
    report = heard.report + plans.report
    if as_json:
        print_json({"packets": [str(path) for path in paths], "not_done": problems(report)})
    else:
        print_paths(paths)
    finish(report)


def _present(production: Production, shot: str) -> tuple[State | None, Report]:
    """Return what the sheet of a shot would say now, and what there is to say of it."""
    from lipsync import pipeline

    with progress_bars() as progress:
        # All lines are heard, since sizes follow each character's own range over the whole production.
        heard = pipeline.hear(production, progress=progress)
        plans = pipeline.plan(production, heard, pipeline.Only(None, shot), progress)
    return pipeline.present_state(production, plans, shot), pipeline.about_shot(heard.report + plans.report, shot)


def _span(production: Production, upto: int | None, first: int | None, last: int | None) -> tuple[int, int] | None:
    """Return the frames that are meant, in the production's numbers; None if none are named."""
    from lipsync.errors import InputError

    if upto is None and first is None and last is None:
        return None
    if upto is not None and first is None and last is None:
        return production.file.first_frame, upto
    if upto is None and first is not None and last is not None:
        return first, last
    raise InputError.one("", "", "name frames in one way: --upto FRAME, or --from FRAME with --to FRAME")


def _wanted(production: Production, upto: int | None, first: int | None, last: int | None) -> tuple[int, int]:
    from lipsync.errors import InputError

    span = _span(production, upto, first, last)
    if span is None:
        raise InputError.one("", "", "say which frames: --upto FRAME, or --from FRAME --to FRAME")
    return span


def _date(text: str | None) -> datetime.date | None:
    from lipsync.errors import InputError

    try:
        return None if text is None else datetime.date.fromisoformat(text)
    except ValueError:
        raise InputError.one(f"--dated {text}", "", "is no date; write such as 2026-11-24") from None


COMMANDS = (lock, unlock, refilm, filmed, check_print, compare, packet)
