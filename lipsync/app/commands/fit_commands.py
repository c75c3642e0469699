"""Choosing mouths and having them made: why a frame wears its piece, mouth charts, the order for the workshop."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from enum import StrEnum
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer

from lipsync.app.commands.command_line import (
    Answered,
    AsJson,
    Folder,
    Out,
    ShotId,
    names,
    print_paths,
    print_table,
    say,
    working,
)

if TYPE_CHECKING:
    from lipsync.app.decide.explaining import FrameWhy

CharacterOnly = Annotated[str | None, typer.Option("--character", metavar="ID", help="Only this character.")]


class OrderBy(StrEnum):
    """What an order can be grouped by; the same names as in workshop/order_groups.py, imported only when used."""

    SCENE = "scene"
    CHARACTER = "character"
    PUPPET = "puppet"
    WEEK = "week"


class Paper(StrEnum):
    """Sizes of paper."""

    A4 = "A4"
    A3 = "A3"
    LETTER = "Letter"
    TABLOID = "Tabloid"


def why(
    folder: Folder,
    shot: ShotId,
    frame: Annotated[int, typer.Argument(metavar="FRAME", help="The frame, as the production numbers it.")],
    character: CharacterOnly = None,
    as_json: AsJson = False,
) -> None:
    """Say why a frame wears its piece: what competes for it, what each piece would cost, what decided.

    Costs are in frames: 1 is one frame on which the mouth is as wrong as closed lips are for a wide-open vowel.
    """
    from lipsync.app.answers import WhyAnswer
    from lipsync.app.decide.explaining import Asked, why_frame
    from lipsync.app.hear.heard import Only
    from lipsync.app.renew.renewing import hear_needed
    from lipsync.production.loading import open_production

    production = open_production(folder)
    scene, there = production.shots(shot=shot)[0]
    with working() as (progress, workers):
        heard = hear_needed(production, Only(shot=shot), progress, workers)
    answers, report = why_frame(production, heard, Asked(shot, frame, character))
    report = (heard.report + report).about_shot(scene.id, there.id)
    answered = Answered(WhyAnswer, {"answers": [answer.record for answer in answers]}, report)
    answered.give(lambda: _print_why(answers), as_json=as_json)


def _print_why(answers: Sequence[FrameWhy]) -> None:
    for answer in answers:
        print(answer.sentence)
        print("\nWhat competes for the frame, the strongest first:")
        print_table(answer.competing_rows)
        print(
            "(fills: from its start less its lead to that of the next, closed lips keeping their frames; counts: what"
            " is seen of it,\nwith blurred edges; of which coarticulation: what consonants near by leave to it)"
        )
        print("\nWhat each piece would cost, the cheapest for the whole shot first:")
        print_table(answer.piece_rows)
        if answer is not answers[-1]:
            print()


def chart(
    folder: Folder,
    character: CharacterOnly = None,
    page: Annotated[
        Paper | None, typer.Option("--page", help="The size of paper; that of the sheets if not given.")
    ] = None,
    measuring: Annotated[
        bool,
        typer.Option(
            "--measuring", help="How opening, width and the rest are measured on pieces, and what each measures."
        ),
    ] = False,
    out: Out = None,
    as_json: AsJson = False,
) -> None:
    """Print the mouth chart of each character: every piece, and the sounds that it serves, on one page to hang up.

    With --measuring, how the numbers of its mouth set are measured with callipers, and the chart behind it.
    """
    from lipsync.app.answers import ChartAnswer
    from lipsync.app.print.charting import write_charts
    from lipsync.production.loading import open_production

    production = open_production(folder)
    made = write_charts(production, character, page, out, measuring=measuring)
    Answered(ChartAnswer, {"files": names(made.paths)}, made.report).give_rows(paths=made.paths, as_json=as_json)


def order(
    folder: Folder,
    look: Annotated[
        bool, typer.Option("--look", help="Only look: nothing is ordered, and no revision is kept.")
    ] = False,
    by: Annotated[
        OrderBy | None, typer.Option("--by", help="Also say what is to be made by scene, character, puppet or week.")
    ] = None,
    out: Out = None,
    as_json: AsJson = False,
) -> None:
    """Make the order for the workshop: how many pressings of each piece, also as order.pdf, order.csv and order.xlsx.

    It follows the shooting plan in production.toml, and stock.toml if there is one. Each order is a revision with a
    letter, kept in orders/: what one said to make, the next does not order again.
    """
    from lipsync.app.answers import OrderAnswer
    from lipsync.app.hear.heard import Only
    from lipsync.app.order.order_files import write_order
    from lipsync.app.order.order_tables import group_rows, revision_words
    from lipsync.app.order.ordering import order_pieces
    from lipsync.app.renew.renewing import tracked_shots
    from lipsync.production.loading import open_production

    production = open_production(folder)
    with working() as (progress, workers):
        tracked = tracked_shots(production, Only(), progress, workers)
        try:
            made, said = order_pieces(
                production, tracked, look=look, by=None if by is None else by.value, progress=progress
            )
        except KeyboardInterrupt:
            say("Nothing was ordered. With fewest = false in [shooting] the search for the fewest ends sooner.")
            raise
        paths = write_order(production, made, out)
    record = {
        "revision": made.revision.letter if made.revision else None,
        "stamp": made.revision.state.stamp if made.revision else None,
        "changes": list(made.changes),
        "missing": list(made.alerts),
        "pieces": made.records,
        "boards": made.boards,
        "hand_overs": made.hand_overs,
        "making": made.making_record,
        "by": made.by,
        "groups": made.group_records,
        "files": names(paths),
    }

    def in_words() -> None:
        print(revision_words(production, made))
        shown = [*_ORDER_SHOWN, *(("minutes", "moulds", "price") if made.making_record else ())]
        print_table([{key: row[key] for key in shown} for row in made.records])
        print_table(group_rows(production, made))
        print_table(_weeks_shown(made.making_record))
        for text in made.changes:
            print(text)
        print_paths(paths)

    Answered(OrderAnswer, record, tracked.report + said).give(in_words, as_json=as_json)


def _weeks_shown(making: dict[str, Any] | None) -> list[dict[str, Any]]:
    """Return what is made in each week, and in all."""
    if making is None:
        return []
    return [*making["weeks"], {"week": f"total, {making['currency']}".strip(" ,"), **making["total"]}]


# What of an order stands on a screen; the rest is in its files.
_ORDER_SHOWN = (
    *("character", "code", "frames_seen", "times_fitted", "boards", "pressings_needed", "there", "on_the_way"),
    *("pressings_to_make", "needed_no_more"),
)


def weigh(
    folder: Folder,
    scene: Annotated[str, typer.Argument(metavar="SCENE", help="The scene's id.")],
    out: Out = None,
    as_json: AsJson = False,
) -> None:
    """Weigh work against looks: what fewer fittings in a scene would cost, and the days they would save.

    Written as weigh-SCENE.pdf, .png and .csv; the present setting is marked.
    """
    from lipsync.app.answers import WeighAnswer
    from lipsync.app.decide.deciding import weigh_scene, write_weighed
    from lipsync.app.hear.heard import Only
    from lipsync.app.renew.renewing import hear_needed
    from lipsync.production.loading import open_production

    production = open_production(folder)
    production.shots(scene)
    with working() as (progress, workers):
        heard = hear_needed(production, Only(scene), progress, workers)
        weighed, said = weigh_scene(production, heard, scene)
        paths = write_weighed(production, weighed, out)
    record = {"rows": weighed.records, "files": names(paths)}
    answered = Answered(WeighAnswer, record, heard.report + said)
    answered.give_rows(weighed.records, paths=paths, as_json=as_json)


def worth(
    folder: Folder,
    character: Annotated[str, typer.Argument(metavar="CHARACTER", help="The character's id.")],
    out: Out = None,
    as_json: AsJson = False,
) -> None:
    """Say which pieces are worth making: for each number of pieces the set that loses least, what one more brings.

    Over all that the character says in the production. Written as worth-CHARACTER.pdf, .png and .csv.
    """
    from lipsync.app.answers import WorthAnswer
    from lipsync.app.decide.deciding import with_character, worth_of, write_worth
    from lipsync.app.renew.renewing import hear_needed
    from lipsync.production.loading import open_production

    production = open_production(folder)
    with working() as (progress, workers):
        heard = hear_needed(production, with_character(production, character), progress, workers)
        found, said = worth_of(production, heard, character)
        paths = write_worth(production, found, out)
    record = {"rows": found.records, "files": names(paths)}
    answered = Answered(WorthAnswer, record, heard.report + said)
    answered.give_rows(found.records, paths=paths, as_json=as_json)


def side_by_side(
    folder: Folder,
    scene: Annotated[str, typer.Argument(metavar="SCENE", help="The scene's id.")],
    mouth_set: Annotated[
        list[str] | None,
        typer.Option("--mouth-set", metavar="CHARACTER=NAME", help="Try this mouth set; may be given for each."),
    ] = None,
    fitting: Annotated[
        Path | None,
        typer.Option("--fitting", metavar="FILE", help="Try the settings in the [fitting] table of this TOML file."),
    ] = None,
    out: Out = None,
    as_json: AsJson = False,
) -> None:
    """Try another mouth set or other settings on a scene, beside the present ones: what would change.

    Where mouth sets are tried, visual cost is measured by the present ones and by those tried. Written as
    side-by-side-SCENE- and what is tried: a page as PDF, and the frames that differ as CSV.
    """
    from lipsync.app.answers import SideBySideAnswer
    from lipsync.app.decide.showing import write_tried
    from lipsync.app.decide.trying import Trial, try_other
    from lipsync.app.hear.heard import Only
    from lipsync.app.renew.renewing import hear_needed
    from lipsync.production.loading import open_production

    production = open_production(folder)
    production.shots(scene)
    trial = Trial(scene, _pairs(mouth_set or ()), fitting)
    with working() as (progress, workers):
        heard = hear_needed(production, Only(scene), progress, workers)
        tried, said = try_other(production, heard, trial)
        paths = write_tried(production, tried, out)
    record = {**tried.record, "files": names(paths)}
    answered = Answered(SideBySideAnswer, record, heard.report + said)
    answered.give_rows(tried.rows, paths=paths, as_json=as_json)


def _pairs(texts: Iterable[str]) -> dict[str, str]:
    """Return the mouth set to try for each character, from texts such as heron=tideline.

    Raises:
        InputError: if a text is no such pair, or names a character again.
    """
    from lipsync.errors import InputError
    from lipsync.message import Where

    found: dict[str, str] = {}
    for text in texts:
        who, equals, name = text.partition("=")
        if not (who and equals and name):
            raise InputError.of("no character and mouth set", Where(f"--mouth-set {text}"))
        if who in found:
            where = Where(f"--mouth-set {who}={name}")
            raise InputError.of("character tried twice", where, character=who, mouth_set=found[who])
        found[who] = name
    return found


COMMANDS = (why, chart, order, weigh, worth, side_by_side)
