"""What the workshop sticks on and lays out: labels for drawers, boxes and backs, and boards."""

from __future__ import annotations

from enum import StrEnum
from typing import Annotated

import typer

from lipsync.app.commands.command_line import Answered, AsJson, Folder, Out, SceneOnly, names, print_paths, working
from lipsync.app.commands.fit_commands import CharacterOnly, Paper

PuppetOnly = Annotated[
    str | None, typer.Option("--puppet", metavar="ID", help="Only what lies on this puppet's boards.")
]


class LabelUse(StrEnum):
    """What labels are for."""

    DRAWERS = "drawers"
    BOXES = "boxes"
    BACKS = "backs"


def labels(
    folder: Folder,
    use: Annotated[
        LabelUse,
        typer.Option(
            "--for",
            help="drawers: one for each piece; boxes: one for each piece on a puppet's boards; backs: one for each "
            "pressing that is needed.",
        ),
    ] = LabelUse.DRAWERS,
    character: CharacterOnly = None,
    puppet: PuppetOnly = None,
    scene: SceneOnly = None,
    size: Annotated[
        str | None,
        typer.Option(
            "--size", metavar="NAME", help="The label sheet, such as 70x37, or one of production.toml's own."
        ),
    ] = None,
    first: Annotated[
        int, typer.Option("--first", metavar="N", help="The first free label of a sheet that has been used.")
    ] = 1,
    copies: Annotated[
        int | None, typer.Option("--copies", metavar="N", min=1, max=99, help="How many of each label.")
    ] = None,
    edges: Annotated[
        bool, typer.Option("--edges", help="Draw the labels' edges, to try a print on plain paper.")
    ] = False,
    out: Out = None,
    as_json: AsJson = False,
) -> None:
    """Print labels for the drawers, boxes and backs of pieces: code, name, picture and a square code.

    With --puppet or --scene only the pieces on these boards are labelled, as many as lie there. The square code says
    the character, or on a box the puppet, and the piece's code.
    """
    from lipsync.app.answers import LabelsAnswer
    from lipsync.app.hear.heard import Only
    from lipsync.app.order.labelling import LabelsAsked, grid_asked, write_labels
    from lipsync.app.order.laying_out import BoardsAsked
    from lipsync.app.renew.renewing import tracked_shots
    from lipsync.production.loading import open_production
    from lipsync.report import Report

    production = open_production(folder)
    asked = LabelsAsked(use.value, BoardsAsked(character, puppet, scene), size, first, copies, edges)
    grid_asked(production, asked)
    with working() as (progress, workers):
        tracked = tracked_shots(production, Only(scene), progress, workers) if asked.needs_tracks else None
        made = write_labels(production, asked, tracked, out, progress)
    record = {"labels": made.labels, "sheets": made.sheets, "files": names([made.path])}
    report = (tracked.report if tracked else Report()) + made.report

    def in_words() -> None:
        print(f"{made.labels} labels on {made.sheets} sheet{'' if made.sheets == 1 else 's'}")
        print_paths([made.path])

    Answered(LabelsAnswer, record, report).give(in_words, as_json=as_json)


def boards(
    folder: Folder,
    character: CharacterOnly = None,
    puppet: PuppetOnly = None,
    scene: SceneOnly = None,
    page: Annotated[
        Paper | None, typer.Option("--page", help="The size of paper; that of the sheets if not given.")
    ] = None,
    out: Out = None,
    as_json: AsJson = False,
) -> None:
    """Print a board for each puppet and scene: a place for each piece that frames not yet filmed need, drawn at size.

    At size where mouth_mm in production.toml says how wide the character's mouth at rest is.
    """
    from lipsync.app.answers import BoardsAnswer
    from lipsync.app.hear.heard import Only
    from lipsync.app.order.laying_out import BoardsAsked, board_problems, write_boards
    from lipsync.app.renew.renewing import tracked_shots
    from lipsync.errors import InputError
    from lipsync.production.loading import open_production

    production = open_production(folder)
    asked = BoardsAsked(character, puppet, scene)
    if problems := tuple(board_problems(production, asked)):
        raise InputError(problems)
    with working() as (progress, workers):
        tracked = tracked_shots(production, Only(scene), progress, workers)
    made = write_boards(production, tracked, asked, page, out)
    record = {"pieces": made.records, "files": names([made.path])}
    answered = Answered(BoardsAnswer, record, tracked.report + made.report)
    answered.give_rows(made.records, paths=[made.path], as_json=as_json)


COMMANDS = (labels, boards)
