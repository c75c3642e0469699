"""How many pressings the workshop makes of each piece, from the shooting plan and from what exists already.

In: the plan and every shot's track. Out: a row for each character and piece, what lies on each puppet's board, and
who hands what to whom (order_rows.py).

Puppets that shoot on the same day each need a pressing of their own. When a puppet's row of the plan is over, its
pressings may go on to another puppet whose head takes them, with the wear that they have. The numbers are the fewest
that are enough (handing_on.py).

Wear: a piece worn at a shot's first frame is put on for that shot. If two puppets shoot a shot, its fittings count
for both; if one puppet shoots it in several rows of the plan, they count once. Takes that were thrown away count too.
A piece that is only on film is not made. If a piece was counted (stock.py), what is filmed wears nothing any more,
and the plan begins on the day after the count.
"""

from __future__ import annotations

import datetime
from collections import Counter, defaultdict
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import replace

from lipsync.fit.mouthset import MouthSet
from lipsync.report import Progress, no_progress
from lipsync.track import PartTrack
from lipsync.workshop.board_uses import BoardUse, Held, PressingLane, Rules
from lipsync.workshop.counting import ShotTrack, count
from lipsync.workshop.handing_on import Fitted, Supply, supply
from lipsync.workshop.order_rows import Board, FirstNeed, HandOver, Order, PressingRow, Reckoned, Unplanned
from lipsync.workshop.shooting import Heads, Material, Shoot, ShootingPlan, character_of

_DOING = "counting pressings"
_WORN_PART = 0.5  # chosen: a spare of which less is left is told of


def order(
    plan: ShootingPlan,
    tracks: Sequence[ShotTrack],
    mouth_sets: Mapping[str, MouthSet],
    reckoned: Reckoned | None = None,
    progress: Progress = no_progress,
) -> Order:
    """Return the order for the workshop; a plan full of breaks may take minutes (`ShootingPlan.fewest`)."""
    reckoned = reckoned or Reckoned()
    of_scene: dict[tuple[str, str], list[ShotTrack]] = {}
    for track in tracks:
        of_scene.setdefault((track.track.character, track.scene), []).append(track)
    jobs = [
        (shoot, [track for track in of_scene.get((shoot.character, shoot.scene), ()) if _shoots(shoot, track)])
        for shoot in plan.shoot
    ]
    codes = {character: dict.fromkeys(mouth_set.by_code) for character, mouth_set in mouth_sets.items()}
    parts = ((t.track.character, code) for t in tracks if isinstance(t.track, PartTrack) for code in t.times_fitted())
    for character, code in sorted(set(parts)):  # parts come after mouths
        if character in codes:
            codes[character].setdefault(code)
    in_set = {character: frozenset(own) for character, own in codes.items()}
    for (character, _, code), ordered in reckoned.ordered.items():  # what left the set is on the way all the same
        if ordered and character in codes:
            codes[character].setdefault(code)
    boards: dict[str, set[str]] = {shoot.puppet: set() for shoot in plan.shoot}
    rows: list[PressingRow] = []
    moves: list[HandOver] = []
    late: dict[tuple[str, str, str], None] = {}
    groups = list(_groups(mouth_sets, plan, reckoned))
    done, total = 0, sum(len(codes[character]) for character, _ in groups)
    for character, heads in groups:
        reckoning = _Reckoning(plan, [job for job in jobs if job[0].puppet in heads], reckoned, (character, heads))
        usual = mouth_sets[character].material
        for code in codes[character]:
            progress(_DOING, done, total)
            row = reckoning.row(code, plan.material_of(character, code, usual), worn=code in in_set[character])
            rows += [row] if row is not None else []
            done += 1
        moves += reckoning.hand_overs
        late |= reckoning.late
        for puppet, own in reckoning.boards.items():
            boards[puppet] |= own
    progress(_DOING, total, total)
    return Order(
        tuple(rows),
        tuple(
            Board(puppet, tuple(code for code in codes[character_of(puppet)] if code in worn))
            for puppet, worn in boards.items()
        ),
        unplanned(plan, tracks),
        tuple(sorted(moves, key=lambda move: (move.day, move.giver, move.taker))),
        tuple(late),
    )


def unplanned(plan: ShootingPlan, tracks: Sequence[ShotTrack]) -> tuple[Unplanned, ...]:
    """Return (character, scene, shot) of each track with fittings that no row of the plan shoots."""
    of_scene: dict[tuple[str, str], list[Shoot]] = {}
    for shoot in plan.shoot:
        of_scene.setdefault((shoot.character, shoot.scene), []).append(shoot)
    rows = {id(t): of_scene.get((t.track.character, t.scene), ()) for t in tracks}
    left = (t for t in tracks if any(t.track.fittings) and not any(_shoots(shoot, t) for shoot in rows[id(t)]))
    return tuple(dict.fromkeys((t.track.character, t.scene, t.shot) for t in left))


def _groups(
    mouth_sets: Mapping[str, MouthSet], plan: ShootingPlan, reckoned: Reckoned
) -> Iterator[tuple[str, Heads]]:
    for character in mouth_sets:
        all_of = tuple(dict.fromkeys(shoot.puppet for shoot in plan.shoot if shoot.character == character))
        yield from ((character, heads) for heads in reckoned.heads.get(character, (all_of,)))


def _shoots(shoot: Shoot, track: ShotTrack) -> bool:
    return shoot.character == track.track.character and shoot.takes(track.scene, track.shot)


_ShootTracks = tuple[Shoot, list[ShotTrack]]


class _Reckoning:
    """Makes the rows of a character's pieces, for one group of heads that take the same mouths."""

    def __init__(
        self, plan: ShootingPlan, jobs: list[_ShootTracks], reckoned: Reckoned, whose: tuple[str, Heads]
    ) -> None:
        self._plan, self._jobs, self._reckoned = plan, jobs, reckoned
        self._character, self._heads = whose
        planned = {id(track): track for _, own in jobs for track in own}
        self._counts = {row.code: row for row in count(planned.values(), {}, {})}
        self._rows: dict[tuple[str, int], list[int]] = defaultdict(list)  # of each puppet and track
        for at, (shoot, own) in enumerate(jobs):
            for track in own:
                self._rows[shoot.puppet, id(track)].append(at)
        self.hand_overs: list[HandOver] = []
        self.late: dict[tuple[str, str, str], None] = {}
        self.boards: dict[str, set[str]] = defaultdict(set)

    def row(self, code: str, material: Material, *, worn: bool) -> PressingRow | None:
        """Return the row of a piece; None if nobody needs it, nobody counted it, and none is on the way.

        One that is not `worn` any more, since it left the mouth set, is needed for nothing.
        """
        clay = material == "clay"
        stock = self._reckoned.stock
        counted = stock.rows_of(self._character, self._heads, code) if stock else ()
        since = stock.counted if stock and counted else None
        uses, scenes, fitted = self._uses(code, since) if worn else ([], [], [])
        for use in uses:
            self.boards[use.puppet].add(code)
        ordered = self._reckoned.ordered.get((self._character, self._heads, code), 0)
        lasts = self._plan.fittings_of(self._character, code) if clay else None
        usable = tuple(one for one in counted if one.there and (lasts is None or one.fitted < lasts))
        there = sum(one.there for one in usable)
        told = [one.ordered for one in counted if one.ordered is not None]
        gone = sum(one.there + one.broke for one in counted)
        on_the_way = sum(told) if told else max(0, ordered - gone)
        seen = self._counts.get(code)
        row = PressingRow(
            self._character, code, seen.frames_seen if seen else 0, seen.times_fitted if seen else 0, 0, 0, 0, 0
        )
        assumed = on_the_way if counted and not told else 0
        worn_out = sum(one.there for one in counted) - there
        row = replace(row, there=there, on_the_way=on_the_way, assumed=assumed, worn_out=worn_out, material=material)
        row = replace(row, heads=self._heads, ordered_before=ordered)
        if not uses:
            return row if counted or on_the_way else None
        spares = self._plan.spares_of(self._character, code)
        held = [Held(one.there, one.fitted if clay else 0, one.puppet) for one in usable]
        held += [Held(on_the_way)] if on_the_way else []
        rules = Rules(lasts, self._plan.change_over_days, spares, tuple(held), since.toordinal() if since else 0)
        enough = supply(uses, fitted, rules, fewest=self._plan.fewest)
        self.hand_overs += _hand_overs(code, uses, enough.lanes)
        at_once = _at_once(uses)
        needs = _needs((uses, scenes), enough, held, spares)
        # Pressings that are there go on boards first, then those on the way, then those to make.
        unused = sum(one.there for one in usable if not (clay and one.fitted) and not one.puppet)
        covered = needs[: len(needs) - enough.to_make]
        return replace(
            row,
            boards=len({use.puppet for use in uses}),
            at_once=at_once,
            changing_over=enough.at_least - at_once,
            used_up=enough.serving - enough.at_least,
            spares=spares,
            to_make=enough.to_make,
            needs=needs[len(covered) :],
            awaited=tuple(need.day for need in covered[unused : unused + on_the_way] if need.puppet),
            exact=enough.exact,
            worn_spares=_worn_spares(enough, rules),
        )

    def _uses(self, code: str, since: datetime.date | None) -> tuple[list[BoardUse], list[str], list[Fitted]]:
        """Return the rows in which a piece lies on a board, their scenes, and how often it is put on over them."""
        uses: dict[tuple[BoardUse, int], int] = {}
        fitted: Counter[tuple[int, ...]] = Counter()
        for puppet, track in self._shot_by():
            times = track.times_fitted() if since is None else track.times_to_come()
            if code not in times:
                continue
            shoots = ((self._jobs[at][0], at) for at in self._rows[puppet, id(track)])
            rows = [(BoardUse(puppet, one.first.toordinal(), one.last.toordinal()), at) for one, at in shoots]
            if since is not None:
                rows = self._after(rows, since.toordinal(), track)
            fitted[tuple(uses.setdefault(row, len(uses)) for row in rows)] += times[code]
        scenes = [self._jobs[at][0].scene for _, at in uses]
        return [use for use, _ in uses], scenes, [Fitted(own, times) for own, times in fitted.items()]

    def _shot_by(self) -> Iterator[tuple[str, ShotTrack]]:
        """Yield each puppet with each shot that it shoots, once."""
        found = {(shoot.puppet, id(track)): track for shoot, own in self._jobs for track in own}
        yield from ((puppet, track) for (puppet, _), track in found.items())

    def _after(self, rows: list[tuple[BoardUse, int]], since: int, track: ShotTrack) -> list[tuple[BoardUse, int]]:
        """Return what is left of rows after a day; one day more if they are over and the shot is not filmed."""
        left = [
            (BoardUse(use.puppet, max(use.first, since + 1), use.last), at) for use, at in rows if use.last > since
        ]
        if left:
            return left
        use, at = max(rows, key=lambda row: row[0].last)
        self.late[use.puppet, track.scene, track.shot] = None
        return [(BoardUse(use.puppet, since + 1, since + 1), at)]


def _at_once(uses: Sequence[BoardUse]) -> int:
    return max(len({use.puppet for use in uses if use.first <= day <= use.last}) for day in {u.first for u in uses})


def _hand_overs(code: str, uses: Sequence[BoardUse], lanes: Sequence[PressingLane]) -> Iterator[HandOver]:
    for lane in lanes:
        reached: dict[str, int] = defaultdict(int)
        for (before, _), (after, _) in zip(lane.stays, lane.stays[1:], strict=False):
            giver, taker = uses[before], uses[after]
            reached[giver.puppet] = max(reached[giver.puppet], giver.last)
            if giver.puppet != taker.puppet:
                day, free = (datetime.date.fromordinal(one) for one in (taker.first, reached[giver.puppet] + 1))
                yield HandOver(day, code, giver.puppet, taker.puppet, free)


def _worn_spares(found: Supply, rules: Rules) -> tuple[int, ...]:
    """Return how many fittings are left in each spare that is there, if it is more than half used up.

    Of pressings that are there, the most worn ones that last are taken to serve: so spares are as new as can be.
    """
    if rules.lasts is None:
        return ()
    lanes = [lane for lane in found.lanes if lane.stays]
    of_those_there = rules.spares - (found.to_make - sum(lane.held is None for lane in lanes))
    left = sorted(rules.lasts - one.fitted for one in rules.held for _ in range(one.count))
    for times in sorted((sum(n for _, n in lane.stays) for lane in lanes if lane.held is not None), reverse=True):
        left.remove(next((fittings for fittings in left if fittings >= times), left[-1]))
    return tuple(one for one in left[::-1][:of_those_there] if one < rules.lasts * _WORN_PART)


def _needs(
    uses: tuple[Sequence[BoardUse], Sequence[str]], found: Supply, held: Sequence[Held], spares: int
) -> tuple[FirstNeed, ...]:
    """Return when and where each pressing is first needed, in order, without those that lie there and were used.

    Args:
        uses: rows of the plan, and the scene of each.
        found: the fewest pressings that are enough.
        held: the pressings that exist already.
        spares: how many spares are to be made; they are needed from the first day on.
    """
    rows, scenes = uses
    firsts = [
        lane.stays[0][0]
        for lane in found.lanes
        if lane.held is None or not (held[lane.held].fitted or held[lane.held].puppet)
    ]
    needs = [(rows[at].first, rows[at].puppet, scenes[at]) for at in firsts]
    needs += [(min(use.first for use in rows), "", "")] * spares
    # On the same day, what goes on boards comes before spares.
    in_order = sorted(needs, key=lambda need: (need[0], not need[1]))
    return tuple(FirstNeed(datetime.date.fromordinal(day), puppet, scene) for day, puppet, scene in in_order)
