"""The order for the puppet workshop: how many pressings of each piece, from the shooting plan and what there is.

In: a production and its plans. Out: `WorkshopOrder`; order_files.py writes it. Without a shooting plan the order is
as large as can be: each puppet shoots every scene, all at once.

An order is a revision, with a letter. Pieces that earlier revisions ordered are there or on the way, and are not
ordered again. An order with the same content as the newest revision is that revision. An order that is only looked at
is no revision, and is not kept.
"""

from __future__ import annotations

import datetime
from dataclasses import dataclass, replace
from typing import Any

from lipsync.app.alert_facts import alerts_over
from lipsync.app.order_changes import order_changes
from lipsync.app.order_record import HandedRow, OrderedRow, OrderRevision, Orders, OrderState, read_orders
from lipsync.app.part_tracks import shot_tracks
from lipsync.app.planning import Plans
from lipsync.floor import record_file
from lipsync.floor.retakes import fitted_in_retakes
from lipsync.message import Message, Where
from lipsync.production.values import Production
from lipsync.report import Report
from lipsync.workshop.counting import ShotTrack
from lipsync.workshop.pressings import Order, PressingRow, Reckoned, order
from lipsync.workshop.shooting import Heads, Shoot, ShootingPlan, heads_of
from lipsync.workshop.stock import FILE as STOCK_FILE

# The day of everything where no days are planned; it is printed nowhere.
_SOME_DAY = datetime.date(2000, 1, 3)


@dataclass(frozen=True, slots=True)
class WorkshopOrder:
    """What the workshop makes.

    Attributes:
        order: its numbers.
        plan: the shooting plan that it follows.
        planned: whether the plan is the studio's own; False if there is none.
        alerts: its alerts.
        heads: (character's id, puppets) for each group of puppets whose heads take the same mouths.
        revision: its revision; None if it is only looked at.
        is_new: whether the revision is not kept yet.
        before: the letter of the revision before; empty if there is none.
        changes: what changed since then, in words.
    """

    order: Order
    plan: ShootingPlan
    planned: bool
    alerts: tuple[str, ...] = ()
    heads: tuple[tuple[str, Heads], ...] = ()
    revision: OrderRevision | None = None
    is_new: bool = False
    before: str = ""
    changes: tuple[str, ...] = ()

    @property
    def records(self) -> list[dict[str, Any]]:
        """A row for each character and piece, and for each of its groups of heads where there are several."""
        return [
            {
                "character": row.character,
                "code": row.code,
                "heads": list(row.heads),
                "frames_seen": row.frames_seen,
                "times_fitted": row.times_fitted,
                "boards": list(self.boards_with(row)),
                "at_once": row.at_once,
                "changing_over": row.changing_over,
                "used_up": row.used_up,
                "spares": row.spares,
                "pressings_needed": row.pressings,
                "there": row.there,
                "on_the_way": row.on_the_way,
                "pressings_to_make": row.to_make,
                "needed_no_more": row.unneeded,
                "needed_by": self.needed_by(row),
            }
            for row in self.order.rows
        ]

    @property
    def hand_overs(self) -> list[dict[str, Any]]:
        """A row for each piece that goes from one puppet's board to another's."""
        return [
            {"day": one.day.isoformat(), "code": one.code, "giver": one.giver, "taker": one.taker}
            for one in (self.order.hand_overs if self.planned else ())
        ]

    def needed_by(self, row: PressingRow) -> list[str]:
        """Return the first day of each pressing to make; none without a plan."""
        return [day.isoformat() for day in row.needed_by] if self.planned else []

    @property
    def boards(self) -> dict[str, list[str]]:
        """The pieces on each puppet's board."""
        return {board.puppet: list(board.codes) for board in self.order.boards}

    def boards_with(self, row: PressingRow) -> tuple[str, ...]:
        """Return the puppets that have a piece on their boards."""
        return tuple(
            board.puppet
            for board in self.order.boards
            if board.character == row.character
            and row.code in board.codes
            and (not row.heads or board.puppet in row.heads)
        )


def order_pieces(production: Production, plans: Plans, *, look: bool = False) -> tuple[WorkshopOrder, Report]:
    """Return the order for the workshop, and what is to be said of it.

    Args:
        production: the production; its shooting plan says which puppet shoots which scene on which days.
        plans: all its shots.
        look: whether it is only looked at: it is no revision then.

    Raises:
        InputError: if an earlier order, or a record of what is filmed, is broken.
    """
    tracks = _tracks(production, plans)
    given = production.file.shooting
    plan = given if given.shoot else _all_at_once(production, given, tracks)
    kept = read_orders(production.folder)
    alerts = alerts_over(production, plans.asked.shots, plans.left_out)
    heads = tuple(
        (key, group)
        for key, one in production.file.characters.items()
        for group in heads_of(key, one.puppets, one.interchangeable)
    )
    made = WorkshopOrder(Order((), (), ()), plan, bool(given.shoot), alerts, heads)

    def reckoned(before: Orders) -> WorkshopOrder:
        groups = {key: tuple(group for who, group in heads if who == key) for key, _ in heads}
        known = Reckoned(groups, production.stock, before.ordered(heads))
        found = order(plan, tracks, production.mouth_sets, known)
        return replace(made, order=found)

    made = _revised(production, reckoned(kept.before_newest), kept)
    if made.revision is None:
        made = _revised(production, reckoned(kept), kept, follows=True)
    if look:
        made = replace(made, revision=None, is_new=False) if made.is_new else made
    shot_already = {(one.scene.id, one.shot.id) for one in plans.shots if len(one.filmed) == one.shot.frames}
    unplanned = tuple(one for one in made.order.unplanned if one[1:] not in shot_already)
    made = replace(made, order=replace(made.order, unplanned=unplanned))
    return made, Report(messages=tuple(_messages(production, plans, made)))


def _revised(production: Production, made: WorkshopOrder, kept: Orders, *, follows: bool = False) -> WorkshopOrder:
    """Return an order as the newest revision if it has the same content, or, with `follows`, as the next revision."""
    state, words = order_state(production, made), production.file.sheet.words
    newest = kept.newest
    if follows or newest is None:
        changes = order_changes(newest.state if newest else None, state, words)
        before = newest.letter if newest else ""
        return replace(made, revision=kept.next(state), is_new=True, before=before, changes=changes)
    if newest.state != state:
        return made
    last = kept.before_newest.newest
    changes = order_changes(last.state if last else None, state, words)
    return replace(made, revision=newest, before=last.letter if last else "", changes=changes)


def order_state(production: Production, made: WorkshopOrder) -> OrderState:
    """Return the content of an order, as it is kept in `orders/`."""
    dated = production.file.dated
    return OrderState(
        film=production.file.title,
        dated=None if dated is None else dated.isoformat(),
        pieces=tuple(
            OrderedRow(
                character=row.character,
                code=row.code,
                heads=row.heads,
                needed=row.pressings,
                there=row.there,
                on_the_way=row.on_the_way,
                make=row.to_make,
                unneeded=row.unneeded,
                by=tuple(made.needed_by(row)),
            )
            for row in made.order.rows
        ),
        hand_overs=tuple(HandedRow(**one) for one in made.hand_overs),
        missing=made.alerts,
    )


def _tracks(production: Production, plans: Plans) -> list[ShotTrack]:
    """Return every track, with its filmed frames and the fittings of takes that were thrown away."""
    records = record_file.records_in(production).of_shots
    found: list[ShotTrack] = []
    for one in plans.shots:
        path = records.get((one.scene.id, one.shot.id))
        retaken = fitted_in_retakes(record_file.read(path)) if path is not None else {}
        found += shot_tracks(production, one, one.filmed, retaken)
    return found


def _messages(production: Production, plans: Plans, made: WorkshopOrder) -> list[Message]:
    where = Where(str(production.folder / "production.toml"), "[shooting]")
    messages = [] if made.planned else [Message.of("no shooting plan", where)]
    there = {(scene.id, who) for scene, shot in production.shots() for who in production.speakers(shot)}
    for row, shoot in enumerate(made.plan.shoot, start=1):
        if (shoot.scene, shoot.character) not in there:
            at = Where(where.file, f"[shooting] [[shoot]] {row}", shoot.scene)
            messages.append(Message.of("in no shot of the scene", at, character=shoot.character, scene=shoot.scene))
    planned = (one for one in plans.shots if any(row.takes(one.scene.id, one.shot.id) for row in made.plan.shoot))
    if (filmed := sum(len(one.filmed) for one in planned)) and production.stock is None:
        messages.append(Message.of("filmed is counted", where, frames=filmed))
    messages += [
        Message.of("not to be shot", replace(where, scene=scene, shot=shot), character=who, scene=scene, shot=shot)
        for who, scene, shot in made.order.unplanned
    ]
    for puppet, scene, shot in made.order.late:
        late = replace(where, scene=scene, shot=shot)
        messages.append(Message.of("late", late, puppet=puppet, scene=scene, shot=shot))
    if assumed := [f"{one.assumed} {one.code} of {one.character}" for one in made.order.rows if one.assumed]:
        stock = Where(str(production.folder / STOCK_FILE))
        messages.append(Message.of("reckoned on the way", stock, pieces=", ".join(assumed)))
    for one in made.order.rows:
        if not one.exact:
            messages.append(Message.of("perhaps one too many", where, character=one.character, code=one.code))
    return messages


def _all_at_once(production: Production, plan: ShootingPlan, tracks: list[ShotTrack]) -> ShootingPlan:
    """Return the plan that asks for most: each puppet shoots every scene of its character, all on one day."""
    shoots = [
        Shoot(puppet=f"{key}-{which}", scene=scene, first=_SOME_DAY, last=_SOME_DAY)
        for key, character in production.file.characters.items()
        for which in range(1, character.puppets + 1)
        for scene in dict.fromkeys(track.scene for track in tracks if track.track.character == key)
    ]
    return plan.model_copy(update={"shoot": tuple(shoots)})
