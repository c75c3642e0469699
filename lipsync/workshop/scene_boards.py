"""What lies on the board of a puppet for a scene: the pieces that unfilmed frames need, and how many of each.

In: the shooting plan and every shot's track. Out: a `SceneBoard` for each puppet and scene of the plan. One pressing
of each piece lies on a board. Of a clay piece that is used up within the scene there are as many as its fittings
take, if each is new when it is laid out (the order, pressings.py, also counts the wear from before).
"""

from __future__ import annotations

import datetime
from collections import Counter
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

from lipsync.fit.mouthset import MouthSet
from lipsync.workshop.counting import ShotTrack
from lipsync.workshop.shooting import Shoot, ShootingPlan, character_of


@dataclass(frozen=True, slots=True)
class LaidOut:
    """A piece on a board: how many lie there, and how often it is put on."""

    code: str
    count: int
    times_fitted: int


@dataclass(frozen=True, slots=True)
class SceneBoard:
    """The board of one puppet for one scene.

    Attributes:
        puppet: the puppet.
        scene: the scene's id.
        shots: the shots of the scene that the puppet shoots and that are not filmed whole, in order.
        first: the first day of its rows of the plan.
        last: the last day of its rows of the plan.
        pieces: the pieces on the board, in the order of the mouth set.
    """

    puppet: str
    scene: str
    shots: tuple[str, ...]
    first: datetime.date
    last: datetime.date
    pieces: tuple[LaidOut, ...]

    @property
    def character(self) -> str:
        """The puppet's character."""
        return character_of(self.puppet)


def scene_boards(
    plan: ShootingPlan, tracks: Iterable[ShotTrack], mouth_sets: Mapping[str, MouthSet]
) -> tuple[SceneBoard, ...]:
    """Return the board of each puppet and scene, in the plan's order, without those with nothing left to film.

    Args:
        plan: who shoots what, with at least a row.
        tracks: every shot's tracks.
        mouth_sets: the mouth set of each character.
    """
    rows: dict[tuple[str, str], list[Shoot]] = {}
    for shoot in plan.shoot:
        rows.setdefault((shoot.puppet, shoot.scene), []).append(shoot)
    own: dict[tuple[str, str], list[ShotTrack]] = {}
    for track in tracks:
        own.setdefault((track.track.character, track.scene), []).append(track)
    boards = []
    for (puppet, scene), shoots in rows.items():
        who = character_of(puppet)
        taken = [one for one in own.get((who, scene), ()) if any(row.takes(scene, one.shot) for row in shoots)]
        left = [one for one in taken if one.times_to_come()]
        if left:
            pieces = tuple(_laid_out(plan, who, left, mouth_sets[who]))
            days = min(row.first for row in shoots), max(row.last for row in shoots)
            boards.append(SceneBoard(puppet, scene, tuple(dict.fromkeys(one.shot for one in left)), *days, pieces))
    return tuple(boards)


def _laid_out(plan: ShootingPlan, who: str, tracks: Sequence[ShotTrack], mouth_set: MouthSet) -> Iterable[LaidOut]:
    times: Counter[str] = Counter()
    for one in tracks:
        for code, often in one.times_to_come().items():
            times[code] += often
    codes = list(mouth_set.by_code)
    for code in sorted(times, key=lambda code: (codes.index(code) if code in codes else len(codes), code)):
        wears = plan.material_of(who, code, mouth_set.material) == "clay"
        count = -(-times[code] // plan.fittings_of(who, code)) if wears else 1
        yield LaidOut(code, max(1, count), times[code])
