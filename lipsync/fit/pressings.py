"""How many pressings the workshop makes of each piece, from the shooting plan.

In come the plan and every shot's track, out comes a row for each character and piece, and what lies on each puppet's
board. The numbers have these names everywhere:

    frames seen                    frames on which the piece is seen, over the shots that are planned
    times fitted                   how often it is put on in them
    pieces on the puppet's board   for each puppet, the pieces that its scenes need; one of each lies on its board
    at once                        on the busiest day, the boards on which the piece lies
    pressings to make              one for each board at once, those that follow on when clay is used up, and spares

Puppets that shoot on the same day each have their own piece; when a puppet's days are over, its pieces go on to the
next board that needs them, with the wear that they have. A piece worn at a shot's first frame has been put on for
that shot. A shot that two puppets shoot counts for both.
"""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from lipsync.fit.counting import ShotTrack, count
from lipsync.fit.mouthset import MouthSet
from lipsync.fit.shooting import Shoot, ShootingPlan


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
        worn_out: pressings that follow on because clay is used up.
        spares: pressings beyond these.
    """

    character: str
    code: str
    frames_seen: int
    times_fitted: int
    boards: int
    at_once: int
    worn_out: int
    spares: int

    @property
    def pressings(self) -> int:
        """Pressings to make."""
        return self.at_once + self.worn_out + self.spares


@dataclass(frozen=True, slots=True)
class Board:
    """The pieces on one puppet's board, in the order of the mouth set."""

    puppet: str
    codes: tuple[str, ...]


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
    totals = {(row.character, row.code): row for row in count((t for t in tracks if id(t) in planned), {}, codes)}
    fitted: defaultdict[tuple[str, str], list[tuple[Shoot, int]]] = defaultdict(list)
    boards: dict[str, set[str]] = {}
    for shoot, own in jobs:
        times = Counter(fitting.code for track in own for fitting in track.track.fittings)
        boards.setdefault(shoot.puppet, set()).update(times)
        for code, many in times.items():
            fitted[shoot.character, code].append((shoot, many))
    rows = [
        _row(plan, (total.frames_seen, total.times_fitted), key, fitted[key], mouth_sets[key[0]].material == "clay")
        for key, total in totals.items()
        if key in fitted
    ]
    return Order(
        tuple(rows),
        tuple(Board(puppet, _in_order(worn, codes[puppet.rpartition("-")[0]])) for puppet, worn in boards.items()),
        tuple((t.track.character, t.scene, t.shot) for t in tracks if id(t) not in planned and any(t.track.fittings)),
    )


def _shoots(shoot: Shoot, track: ShotTrack) -> bool:
    return (
        shoot.character == track.track.character
        and shoot.scene == track.scene
        and (not shoot.shots or track.shot in shoot.shots)
    )


def _in_order(worn: set[str], codes: Sequence[str]) -> tuple[str, ...]:
    return (*(code for code in codes if code in worn), *sorted(worn.difference(codes)))


def _row(
    plan: ShootingPlan, totals: tuple[int, int], key: tuple[str, str], fitted: list[tuple[Shoot, int]], clay: bool
) -> PressingRow:
    lanes = _lanes(fitted)
    worn_out = sum(max(0, -(-times // plan.fittings_a_piece) - 1) for _, times in lanes) if clay else 0
    boards = len({shoot.puppet for shoot, _ in fitted})
    return PressingRow(*key, *totals, boards, len(lanes), worn_out, plan.spares)


def _lanes(fitted: list[tuple[Shoot, int]]) -> list[tuple[Shoot, int]]:
    """Return the fewest pieces that serve all shoots, each with its last shoot and how often it is put on.

    Shoots are taken by their first day; each gets the piece that its puppet has, else one that is free, else a new
    one. As many are needed as there are boards on the busiest day, and never more (intervals, so the greedy way is
    the best).
    """
    lanes: list[tuple[Shoot, int]] = []
    for shoot, times in sorted(fitted, key=lambda item: (item[0].first, item[0].last, item[0].puppet)):
        free = [at for at, (last, _) in enumerate(lanes) if last.last < shoot.first]
        own = [at for at in free if lanes[at][0].puppet == shoot.puppet]
        if free:
            # The least worn of those that are free, so that the wear is spread.
            at = min(own or free, key=lambda lane: lanes[lane][1])
            lanes[at] = (shoot, lanes[at][1] + times)
        else:
            lanes.append((shoot, times))
    return lanes
