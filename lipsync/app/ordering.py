"""The order for the puppet workshop: how many pressings of each piece, from the shooting plan.

In: a production and its plans. Out: `WorkshopOrder`; order_files.py writes it. Without a shooting plan the most is
ordered: each puppet shoots every scene, all at once.
"""

from __future__ import annotations

import datetime
from dataclasses import dataclass, replace
from typing import Any

from lipsync.app.alert_facts import alerts_over
from lipsync.app.planning import Plans
from lipsync.message import Message, Where
from lipsync.production.values import Production
from lipsync.report import Report
from lipsync.workshop.counting import ShotTrack
from lipsync.workshop.pressings import Order, PressingRow, order
from lipsync.workshop.shooting import Shoot, ShootingPlan

# A day to count from where no days are planned; it is printed nowhere.
_SOME_DAY = datetime.date(2000, 1, 3)


@dataclass(frozen=True, slots=True)
class WorkshopOrder:
    """What the workshop makes, the plan behind it (`planned`: the studio's own), and what must be known of it."""

    order: Order
    plan: ShootingPlan
    planned: bool
    alerts: tuple[str, ...] = ()

    @property
    def records(self) -> list[dict[str, Any]]:
        """A row for each character and piece."""
        return [
            {
                "character": row.character,
                "code": row.code,
                "frames_seen": row.frames_seen,
                "times_fitted": row.times_fitted,
                "boards": list(self.boards_with(row)),
                "at_once": row.at_once,
                "used_up": row.used_up,
                "spares": row.spares,
                "pressings_to_make": row.pressings,
            }
            for row in self.order.rows
        ]

    @property
    def boards(self) -> dict[str, list[str]]:
        """The pieces on each puppet's board."""
        return {board.puppet: list(board.codes) for board in self.order.boards}

    def boards_with(self, row: PressingRow) -> tuple[str, ...]:
        """Return the puppets that have a piece on their boards."""
        return tuple(
            board.puppet
            for board in self.order.boards
            if board.character == row.character and row.code in board.codes
        )


def order_pieces(production: Production, plans: Plans) -> tuple[WorkshopOrder, Report]:
    """Return the order for the workshop, and what is to be said of it.

    Args:
        production: the production; its shooting plan says which puppet shoots which scene on which days.
        plans: all its shots.
    """
    tracks = [ShotTrack(one.scene.id, one.shot.id, cast.track) for one in plans.shots for cast in one.cast]
    given = production.file.shooting
    plan = given if given.shoot else _all_at_once(production, given, tracks)
    found = order(plan, tracks, production.mouth_sets)
    shot_already = {(one.scene.id, one.shot.id) for one in plans.shots if len(one.filmed) == one.shot.frames}
    found = replace(found, unplanned=tuple(one for one in found.unplanned if one[1:] not in shot_already))
    made = WorkshopOrder(found, plan, bool(given.shoot), alerts_over(production, plans.asked.shots, plans.left_out))
    where = Where(str(production.folder / "production.toml"), "[shooting]")
    messages: list[Message] = []
    if not made.planned:
        messages.append(Message.of("no shooting plan", where))
    there = {(scene.id, who) for scene, shot in production.shots() for who in production.speakers(shot)}
    for row, shoot in enumerate(plan.shoot, start=1):
        if (shoot.scene, shoot.character) not in there:
            at = Where(where.file, f"[shooting] [[shoot]] {row}", shoot.scene)
            messages.append(Message.of("in no shot of the scene", at, character=shoot.character, scene=shoot.scene))
    planned = (one for one in plans.shots if any(row.takes(one.scene.id, one.shot.id) for row in plan.shoot))
    if filmed := sum(len(one.filmed) for one in planned):
        messages.append(Message.of("filmed is counted", where, frames=filmed))
    messages += [
        Message.of("not to be shot", replace(where, scene=scene, shot=shot), character=who, scene=scene, shot=shot)
        for who, scene, shot in made.order.unplanned
    ]
    return made, Report(messages=tuple(messages))


def _all_at_once(production: Production, plan: ShootingPlan, tracks: list[ShotTrack]) -> ShootingPlan:
    """Return the plan that asks for most: each puppet shoots every scene of its character, all at once."""
    day = datetime.timedelta(days=1)
    shoots = [
        Shoot(puppet=f"{key}-{which}", scene=scene, first=_SOME_DAY + day * place, last=_SOME_DAY + day * place)
        for key, character in production.file.characters.items()
        for which in range(1, character.puppets + 1)
        for place, scene in enumerate(dict.fromkeys(track.scene for track in tracks if track.track.character == key))
    ]
    return plan.model_copy(update={"shoot": tuple(shoots)})
