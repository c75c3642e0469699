"""How many pressings the workshop makes of each piece, from the shooting plan.

In come the plan and every shot's track, out comes a row for each character and piece, and what lies on each puppet's
board. The numbers have these names everywhere:

    frames seen                    frames on which the piece is seen, over the shots that are planned
    times fitted                   how often it is put on in them, each shot once
    pieces on the puppet's board   for each puppet, the pieces that its scenes need; one of each lies on its board
    at once                        on the busiest day, the boards on which the piece lies
    pressings to make              one for each board at once, those that follow on when clay is used up, and spares

Puppets that shoot on the same day each have their own piece; when a puppet's row of the plan is over, its pieces may
go on to the next board that needs them, with the wear that they have. A piece worn at a shot's first frame has been
put on for that shot. A shot that two puppets shoot wears the pieces of both; one that a puppet comes back to on later
days is gone on with, and wears them once. A piece that is only on film is not made.
"""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from lipsync.fit.mouthset import MouthSet
from lipsync.workshop.counting import ShotTrack, count
from lipsync.workshop.shooting import Shoot, ShootingPlan, character_of


@dataclass(frozen=True, slots=True)
class PressingRow:
    """One piece of one character, as the workshop is to make it.

    Attributes:
        character: the character's id.
        code: the piece.
        frames_seen: frames on which it is seen, over the shots that are planned.
        times_fitted: how often it is put on in them.
        boards: how many puppets have it on their boards, over the whole shoot.
        at_once: boards with it on the busiest day.
        used_up: pressings that follow on because clay is used up, beyond those at once.
        spares: pressings beyond these.
    """

    character: str
    code: str
    frames_seen: int
    times_fitted: int
    boards: int
    at_once: int
    used_up: int
    spares: int

    @property
    def pressings(self) -> int:
        """Pressings to make."""
        return self.at_once + self.used_up + self.spares


@dataclass(frozen=True, slots=True)
class Board:
    """The pieces on one puppet's board, in the order of the mouth set."""

    puppet: str
    codes: tuple[str, ...]

    @property
    def character(self) -> str:
        """The puppet's character."""
        return character_of(self.puppet)


@dataclass(frozen=True, slots=True)
class Order:
    """What the workshop makes, what lies on each board, and what the plan leaves out.

    Attributes:
        rows: the pieces, by character and in the order of its mouth set.
        boards: by puppet, in the order of the plan.
        unplanned: character, scene and shot of each track that no puppet is to shoot; nothing is made for it.
    """

    rows: tuple[PressingRow, ...]
    boards: tuple[Board, ...]
    unplanned: tuple[tuple[str, str, str], ...]


def order(plan: ShootingPlan, tracks: Sequence[ShotTrack], mouth_sets: Mapping[str, MouthSet]) -> Order:
    """Return the order for the workshop."""
    jobs = [(shoot, [t for t in tracks if _shoots(shoot, t)]) for shoot in plan.shoot]
    codes = {character: list(mouth_set.by_code) for character, mouth_set in mouth_sets.items()}
    planned = {id(track) for _, own in jobs for track in own}
    counts = count((t for t in tracks if id(t) in planned), {}, codes)
    totals = {(row.character, row.code): row for row in counts if row.code in codes[row.character]}
    uses = _uses(jobs)
    boards: dict[str, set[str]] = {}
    for shoot, own in jobs:
        boards.setdefault(shoot.puppet, set()).update(_worn(own))
    rows = [
        _row(
            plan, (total.frames_seen, total.times_fitted), key, uses[key], clay=mouth_sets[key[0]].material == "clay"
        )
        for key, total in totals.items()
        if key in uses
    ]
    return Order(
        tuple(rows),
        tuple(
            Board(puppet, tuple(code for code in codes[character_of(puppet)] if code in worn))
            for puppet, worn in boards.items()
        ),
        tuple((t.track.character, t.scene, t.shot) for t in tracks if id(t) not in planned and any(t.track.fittings)),
    )


def _shoots(shoot: Shoot, track: ShotTrack) -> bool:
    return shoot.character == track.track.character and shoot.takes(track.scene, track.shot)


def _worn(tracks: Sequence[ShotTrack]) -> Counter[str]:
    """Return how often each piece is put on."""
    return Counter(fitting.code for track in tracks for fitting in track.track.fittings)


def _uses(jobs: Sequence[tuple[Shoot, list[ShotTrack]]]) -> dict[tuple[str, str], list[tuple[Shoot, int]]]:
    """Return for each piece what it is needed for, by the first day, and how often it is put on in each."""
    found: defaultdict[tuple[str, str], list[tuple[Shoot, int]]] = defaultdict(list)
    begun: set[tuple[str, int]] = set()
    for shoot, own in sorted(jobs, key=lambda job: (job[0].first, job[0].last, job[0].puppet)):
        times = _worn([track for track in own if (shoot.puppet, id(track)) not in begun])
        begun |= {(shoot.puppet, id(track)) for track in own}
        for code in _worn(own):
            found[shoot.character, code].append((shoot, times[code]))
    return found


def _row(
    plan: ShootingPlan, totals: tuple[int, int], key: tuple[str, str], uses: list[tuple[Shoot, int]], *, clay: bool
) -> PressingRow:
    lasts = plan.fittings_a_piece if clay else None
    lanes = _lanes(uses, lasts)
    own: Counter[str] = Counter()
    for shoot, times in uses:
        own[shoot.puppet] += times
    # Handed on, or each on its own board to the end: whichever takes fewer.
    pressings = min(sum(_used(times, lasts) for times in worn) for worn in ([t for _, t in lanes], own.values()))
    return PressingRow(*key, *totals, len(own), len(lanes), pressings - len(lanes), plan.spares)


def _used(times: int, lasts: int | None) -> int:
    """Return how many pressings are begun by so many fittings."""
    return 1 if lasts is None else max(1, -(-times // lasts))


def _lanes(uses: list[tuple[Shoot, int]], lasts: int | None) -> list[tuple[Shoot, int]]:
    """Return the fewest pieces that serve all shoots, each with its last shoot and how often it is put on.

    Shoots come by their first day; each gets a piece that is free, else a new one. As many are needed as there are
    boards on the busiest day, and never more (intervals, so the greedy way is the best). Of those that are free it
    gets one that is not used up by it, rather its puppet's own than another's, rather the least worn.
    """
    lanes: list[tuple[Shoot, int]] = []
    for shoot, times in uses:
        # On a day of two rows a puppet keeps what lies on its board.
        free = [at for at, (last, _) in enumerate(lanes) if last.puppet == shoot.puppet and last.meets(shoot)]
        free = free or [at for at, (last, _) in enumerate(lanes) if last.last < shoot.first]

        def worse(at: int, shoot: Shoot = shoot, times: int = times) -> tuple[int, bool, int]:
            last, worn = lanes[at]
            return _used(worn + times, lasts) - _used(worn, lasts), last.puppet != shoot.puppet, worn

        at = min(free, key=worse, default=None)
        if at is None:
            lanes.append((shoot, times))
            continue
        lanes[at] = (max(lanes[at][0], shoot, key=lambda one: one.last), lanes[at][1] + times)
    return lanes
