"""The order for the puppet workshop: how many pressings of each piece, from the shooting plan and what there is.

In: a production and its tracks. Out: `WorkshopOrder`; order_files.py writes it. Without a shooting plan the order is
as large as can be: each puppet shoots every scene, all at once.

An order is a revision, with a letter. Pieces that earlier revisions ordered are there or on the way, and are not
ordered again. An order with the same content as the newest revision is that revision. An order that is only looked at
is no revision, and is not kept.
"""

from __future__ import annotations

import datetime
from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import replace

from lipsync.app.order.order_changes import order_changes
from lipsync.app.order.order_record import HandedRow, OrderedRow, Orders, OrderState, read_orders
from lipsync.app.order.workshop_order import WorkshopOrder
from lipsync.app.plan.part_tracks import shot_tracks
from lipsync.app.plan.tracked import TrackedShots
from lipsync.floor import prints, record_file
from lipsync.floor.retakes import fitted_in_retakes, parts_in_retakes
from lipsync.message import Message, Where
from lipsync.production.values import Production
from lipsync.report import Progress, Report, no_progress
from lipsync.workshop.counting import ShotTrack
from lipsync.workshop.making_cost import FIGURE_OF, making_cost
from lipsync.workshop.order_groups import Grouping, grouped
from lipsync.workshop.order_rows import Order, PressingRow, Reckoned, Unplanned, worn_out_pieces, worn_spares_of
from lipsync.workshop.pressings import order
from lipsync.workshop.shooting import Shoot, ShootingPlan, heads_of
from lipsync.workshop.stock import FILE as STOCK_FILE

# The day of everything where no days are planned; it is printed nowhere.
_SOME_DAY = datetime.date(2000, 1, 3)


def order_pieces(
    production: Production,
    tracked: TrackedShots,
    *,
    look: bool = False,
    by: Grouping | None = None,
    progress: Progress = no_progress,
) -> tuple[WorkshopOrder, Report]:
    """Return the order for the workshop, and what is to be said of it.

    Args:
        production: the production; its shooting plan says which puppet shoots which scene on which days.
        tracked: all its shots.
        look: whether it is only looked at: it is no revision then.
        by: what it is grouped by as well: scene, character, puppet or week.
        progress: told how many pieces are done.

    Raises:
        InputError: if an earlier order, a record of what is filmed, or the prints of a shot filmed again, are broken.
    """
    tracks = _tracks(production, tracked)
    plan = plan_of(production, tracks)
    kept = read_orders(production.folder)
    alerts = tracked.alerts(production)
    heads = tuple(
        (key, group)
        for key, one in production.file.characters.items()
        for group in heads_of(key, one.puppets, one.interchangeable)
    )
    made = WorkshopOrder(Order((), (), ()), plan, bool(production.file.shooting.shoot), alerts, heads)

    def reckoned(before: Orders) -> WorkshopOrder:
        groups = {key: tuple(group for who, group in heads if who == key) for key, _ in heads}
        known = Reckoned(groups, production.stock, before.ordered(heads))
        found = order(plan, tracks, production.mouth_sets, known, progress)
        return replace(made, order=found)

    made = _revised(production, reckoned(kept.before_newest), kept)
    if made.revision is None:
        made = _revised(production, reckoned(kept), kept, follows=True)
    if look:
        made = replace(made, revision=None, is_new=False) if made.is_new else made
    made = replace(made, order=replace(made.order, unplanned=still_to_shoot(tracked, made.order.unplanned)))
    making = making_cost(production.file.making, made.order.rows, planned=made.planned)
    groups = grouped(made.order.rows, by, planned=made.planned) if by is not None else ()
    made = replace(made, making=making, by=by, groups=groups)
    sooner = _sooner(made, kept if made.is_new or made.revision is None else kept.before_newest)
    made = replace(made, alerts=(*made.alerts, *_alerts(production, made, sooner)))
    return made, Report(messages=(*_messages(production, tracked, made), *_sooner_messages(production, sooner)))


def _alerts(production: Production, made: WorkshopOrder, sooner: list[tuple[PressingRow, str, str]]) -> Iterator[str]:
    """Yield what must be known of an order before it is used, beside what lacks in its shots."""
    words, rows = production.file.sheet.words, made.order.rows
    late: dict[str, list[str]] = {}
    for puppet, scene, shot in made.order.late if made.planned else ():
        late.setdefault(puppet, []).append(f"{scene}/{shot}")
    yield from (words.order_late.format(puppet=puppet, shots=", ".join(shots)) for puppet, shots in late.items())
    if assumed := _assumed(rows):
        yield words.order_assumed.format(pieces=assumed)
    if worn := ", ".join(worn_spares_of(rows)):
        yield words.order_worn_spares.format(pieces=worn)
    for row, now, was in sooner:
        yield words.order_sooner.format(piece=f"{row.character} {row.code}", now=now, was=was)
    yield from (words.order_not_fewest.format(piece=f"{r.character} {r.code}") for r in rows if not r.exact)


def _assumed(rows: Sequence[PressingRow]) -> str:
    """Return how many of which pieces are reckoned as on the way though the count does not say so, in words."""
    return ", ".join(f"{one.assumed} {one.code} of {one.character}" for one in rows if one.assumed)


def _sooner(made: WorkshopOrder, before: Orders) -> list[tuple[PressingRow, str, str]]:
    """Return the pieces of which pressings on the way are needed before the day for which they were ordered."""
    found = []
    ordered = before.days(made.heads)
    for row in made.order.rows if made.planned else ():
        # What was ordered first is there by now: the last ones ordered are on the way.
        days = ordered.get((row.character, row.heads, row.code), [])[-row.on_the_way :]
        pairs = zip((day.isoformat() for day in row.awaited), days, strict=False)
        if late := next(((now, was) for now, was in pairs if now < was), None):
            found.append((row, *late))
    return found


def _sooner_messages(production: Production, sooner: list[tuple[PressingRow, str, str]]) -> Iterator[Message]:
    where = Where(str(production.folder / "production.toml"), "[shooting]")
    for row, now, was in sooner:
        yield Message.of("needed sooner", where, character=row.character, code=row.code, now=now, was=was)


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
            if row.pressings or row.there or row.on_the_way
        ),
        hand_overs=tuple(HandedRow(**one) for one in made.hand_overs),
        missing=made.alerts,
    )


def _tracks(production: Production, tracked: TrackedShots) -> list[ShotTrack]:
    """Return every track, with its filmed frames and the fittings of takes that were thrown away."""
    records, printed = record_file.records_in(production).of_shots, prints.prints_in(production).of_shots
    names = {key: one.name for key, one in production.file.characters.items()}
    found: list[ShotTrack] = []
    for one in tracked.shots:
        key = one.scene.id, one.shot.id
        retaken: dict[str, Counter[str]] = {}
        if key in records:
            record = record_file.read(records[key])
            retaken = fitted_in_retakes(record)
            if key in printed and any(event.what == "refilm" for event in record.events):
                for who, parts in parts_in_retakes(record, prints.read(printed[key]), names).items():
                    retaken.setdefault(who, Counter()).update(parts)
        found += shot_tracks(production, one, one.filmed, retaken)
    return found


def _messages(production: Production, tracked: TrackedShots, made: WorkshopOrder) -> list[Message]:
    where = Where(str(production.folder / "production.toml"), "[shooting]")
    messages = plan_messages(production, made.plan, made.order.unplanned)
    planned = (one for one in tracked.shots if any(row.takes(one.scene.id, one.shot.id) for row in made.plan.shoot))
    if (filmed := sum(len(one.filmed) for one in planned)) and production.stock is None:
        messages.append(Message.of("filmed is counted", where, frames=filmed))
    for puppet, scene, shot in made.order.late if made.planned else ():
        late = replace(where, scene=scene, shot=shot)
        messages.append(Message.of("late", late, puppet=puppet, scene=scene, shot=shot))
    stock = Where(str(production.folder / STOCK_FILE))
    if worn_out := ", ".join(worn_out_pieces(made.order.rows)):
        messages.append(Message.of("worn out", stock, pieces=worn_out))
    if worn := ", ".join(worn_spares_of(made.order.rows)):
        messages.append(Message.of("spares worn", stock, pieces=worn))
    if assumed := _assumed(made.order.rows):
        messages.append(Message.of("reckoned on the way", stock, pieces=assumed))
    making = Where(where.file, "[making]")
    for pieces, numbers in made.making.left_out.items() if made.making is not None else ():
        figures, named = (", ".join(FIGURE_OF[one] for one in numbers), ", ".join(map(" ".join, pieces)))
        messages.append(Message.of("no figure of making", making, figures=figures, pieces=named))
    for one in made.order.rows:
        if not one.exact:
            messages.append(Message.of("perhaps one too many", where, character=one.character, code=one.code))
    return messages


def plan_of(production: Production, tracks: list[ShotTrack]) -> ShootingPlan:
    """Return the studio's shooting plan, or the one that asks for most if it has none."""
    given = production.file.shooting
    return given if given.shoot else _all_at_once(production, given, tracks)


def still_to_shoot(tracked: TrackedShots, unplanned: Sequence[Unplanned]) -> tuple[Unplanned, ...]:
    """Return what of that which no puppet is to shoot is not wholly filmed."""
    shot_already = {(one.scene.id, one.shot.id) for one in tracked.shots if len(one.filmed) == one.shot.frames}
    return tuple(one for one in unplanned if one[1:] not in shot_already)


def plan_messages(production: Production, plan: ShootingPlan, unplanned: Sequence[Unplanned]) -> list[Message]:
    """Return what is to be said of a shooting plan, and of what no puppet is to shoot."""
    where = Where(str(production.folder / "production.toml"), "[shooting]")
    messages = [] if production.file.shooting.shoot else [Message.of("no shooting plan", where)]
    there = {(scene.id, who) for scene, shot in production.shots() for who in production.speakers(shot)}
    for row, shoot in enumerate(plan.shoot, start=1):
        if (shoot.scene, shoot.character) not in there:
            at = Where(where.file, f"[shooting] [[shoot]] {row}", shoot.scene)
            messages.append(Message.of("in no shot of the scene", at, character=shoot.character, scene=shoot.scene))
    return messages + [
        Message.of("not to be shot", replace(where, scene=scene, shot=shot), character=who, scene=scene, shot=shot)
        for who, scene, shot in unplanned
    ]


def _all_at_once(production: Production, plan: ShootingPlan, tracks: list[ShotTrack]) -> ShootingPlan:
    """Return the plan that asks for most: each puppet shoots every scene of its character, all on one day."""
    shoots = [
        Shoot(puppet=f"{key}-{which}", scene=scene, first=_SOME_DAY, last=_SOME_DAY)
        for key, character in production.file.characters.items()
        for which in range(1, character.puppets + 1)
        for scene in dict.fromkeys(track.scene for track in tracks if track.track.character == key)
    ]
    return plan.model_copy(update={"shoot": tuple(shoots)})
