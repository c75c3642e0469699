"""On the floor: frames that go into the can, and what is in it."""

from __future__ import annotations

import datetime
from collections.abc import Sequence
from typing import TYPE_CHECKING, Annotated

import typer

from lipsync.app.commands.command_line import Answered, AsJson, Folder, SceneOnly, ShotId, ShotOnly, print_table
from lipsync.message import Where
from lipsync.report import Report

if TYPE_CHECKING:
    from lipsync.message import Message
    from lipsync.production.values import Production

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
    as_json: AsJson = False,
) -> None:
    """Lock frames that are in the can: every plan keeps them from now on, as they were filmed.

    What was worn is what the print said, or what --wore says. Of frames that are locked already, --wore mends the
    record.
    """
    from lipsync.errors import InputError
    from lipsync.floor.locking import lock
    from lipsync.production.loading import open_production

    production = open_production(folder)
    span = _span(production, upto, first, last)
    if span is None and not wore:
        raise InputError.of("no frames to lock", Where())
    said = lock(production, shot, span, tuple(wore or ()), revision=revision, dated=_date(dated))
    _answer(production, shot, said, as_json=as_json)


def unlock(
    folder: Folder,
    shot: ShotId,
    upto: Upto = None,
    first: First = None,
    last: Last = None,
    reason: Annotated[str, typer.Option("--reason", metavar="TEXT", help="Why, for the record.")] = "",
    dated: Dated = None,
    as_json: AsJson = False,
) -> None:
    """Take back a lock that was a mistake: the frames are planned again. The record keeps both the lock and this."""
    from lipsync.floor.locking import unlock
    from lipsync.production.loading import open_production

    production = open_production(folder)
    span = _wanted(production, upto, first, last)
    said = unlock(production, shot, span, reason=reason, dated=_date(dated))
    _answer(production, shot, said, as_json=as_json)


def refilm(
    folder: Folder,
    shot: ShotId,
    reason: Annotated[str, typer.Option("--reason", metavar="TEXT", help="Why the take is filmed again.")],
    upto: Upto = None,
    first: First = None,
    last: Last = None,
    dated: Dated = None,
    as_json: AsJson = False,
) -> None:
    """Unlock frames whose take is filmed again. The record keeps both takes, and the reason."""
    from lipsync.floor.locking import refilm
    from lipsync.production.loading import open_production

    production = open_production(folder)
    span = _wanted(production, upto, first, last)
    said = refilm(production, shot, span, reason, dated=_date(dated))
    _answer(production, shot, said, as_json=as_json)


def _answer(production: Production, shot: str, said: Sequence[Message], *, as_json: bool) -> None:
    """Print what was done; for a program also what is now in the can of the shot."""
    from lipsync.app.answers import LockAnswer, told_of
    from lipsync.floor.filmed_rows import filmed_records

    record = {"done": told_of(said), "shots": filmed_records(production, None, shot)}
    Answered(LockAnswer, record, Report()).give(lambda: print(*said, sep="\n"), as_json=as_json)


def filmed(folder: Folder, scene: SceneOnly = None, shot: ShotOnly = None, as_json: AsJson = False) -> None:
    """Show what is in the can: how much of each shot; with --shot also what happened to it, in order."""
    from lipsync.app.answers import FilmedAnswer
    from lipsync.floor.filmed_rows import event_rows, filmed_records, filmed_rows
    from lipsync.production.loading import open_production

    production = open_production(folder)

    def in_words() -> None:
        print_table(filmed_rows(production, scene, shot))
        if shot is not None:
            print_table(event_rows(production, shot))

    record = {"shots": filmed_records(production, scene, shot)}
    Answered(FilmedAnswer, record, Report()).give(in_words, as_json=as_json)


def _span(production: Production, upto: int | None, first: int | None, last: int | None) -> tuple[int, int] | None:
    """Return first and last of the frames named, in the production's numbers; None if none are named.

    Raises:
        InputError: if they are named in several ways, or in part.
    """
    from lipsync.errors import InputError

    if upto is None and first is None and last is None:
        return None
    if upto is not None and first is None and last is None:
        return production.file.first_frame, upto
    if upto is None and first is not None and last is not None:
        return first, last
    raise InputError.of("frames named in two ways", Where())


def _wanted(production: Production, upto: int | None, first: int | None, last: int | None) -> tuple[int, int]:
    from lipsync.errors import InputError

    span = _span(production, upto, first, last)
    if span is None:
        raise InputError.of("no frames named", Where())
    return span


def _date(text: str | None) -> datetime.date | None:
    from lipsync.errors import InputError

    try:
        return None if text is None else datetime.date.fromisoformat(text)
    except ValueError:
        raise InputError.of("no date", Where(f"--dated {text}")) from None


COMMANDS = (lock, unlock, refilm, filmed)
