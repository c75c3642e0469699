"""What lies on a puppet's board for a scene, against counts made by hand."""

import datetime

from lipsync.fit.mouthset import load_mouth_set
from lipsync.production.values import shipped
from lipsync.track import PartTrack, PieceTrack
from lipsync.workshop.counting import ShotTrack
from lipsync.workshop.scene_boards import LaidOut, scene_boards
from lipsync.workshop.shooting import Shoot, ShootingPlan

CLAY, HARD = (load_mouth_set(shipped("mouthsets") / f"{name}.toml") for name in ("tideline", "driftwood"))
MONDAY = datetime.date(2026, 11, 30)


def track(who, scene, shot, pieces, filmed=()):
    codes = tuple(None if code == "-" else code for code in pieces.split())
    return ShotTrack(scene, shot, PieceTrack(who, codes), frozenset(filmed))


def shoot(puppet, scene, *shots, first=0, days=5):
    day = MONDAY + datetime.timedelta(first)
    return Shoot(puppet=puppet, scene=scene, shots=shots, first=day, last=day + datetime.timedelta(days - 1))


TRACKS = [
    track("heron", "pier", "010", "REST REST OPEN1 OPEN1 REST SHUT"),
    track("heron", "pier", "020", "OPEN1 SHUT OPEN1 - OPEN1 OPEN1"),
    track("heron", "attic", "030", "POUT POUT"),
    track("crab", "pier", "010", "SHUT OPEN SHUT OPEN SHUT OPEN"),
]


def laid(plan, tracks=TRACKS):
    boards = scene_boards(plan, tracks, {"heron": CLAY, "crab": HARD})
    return {(one.puppet, one.scene): one for one in boards}


def test_a_board_has_the_pieces_of_its_shots_in_the_order_of_the_set() -> None:
    plan = ShootingPlan(
        shoot=(shoot("heron-1", "pier", "010"), shoot("heron-2", "pier"), shoot("crab-1", "pier")),
        fittings_a_piece=2,
    )
    found = laid(plan)
    assert list(found) == [("heron-1", "pier"), ("heron-2", "pier"), ("crab-1", "pier")]
    # Shot 010 puts REST on twice, OPEN1 once, SHUT once; 020 OPEN1 twice (off camera it stays on) and SHUT once.
    # Two fittings use a clay piece up: three of OPEN1 take two. Hard ones stay.
    one, both, crab = (board.pieces for board in found.values())
    assert one == (LaidOut("REST", 1, 2), LaidOut("SHUT", 1, 1), LaidOut("OPEN1", 1, 1))
    assert both == (LaidOut("REST", 1, 2), LaidOut("SHUT", 1, 2), LaidOut("OPEN1", 2, 3))
    assert crab == (LaidOut("OPEN", 1, 3), LaidOut("SHUT", 1, 3))
    assert found["heron-1", "pier"].shots == ("010",)


def test_rows_of_one_puppet_and_scene_are_one_board_over_all_their_days() -> None:
    plan = ShootingPlan(
        shoot=(
            shoot("heron-1", "pier", "010"),
            shoot("heron-1", "attic", first=7),
            shoot("heron-1", "pier", "020", first=14),
        )
    )
    found = laid(plan)
    assert list(found) == [("heron-1", "pier"), ("heron-1", "attic")]
    pier = found["heron-1", "pier"]
    assert (pier.shots, pier.first, pier.last) == (("010", "020"), MONDAY, MONDAY + datetime.timedelta(18))
    assert found["heron-1", "attic"].pieces == (LaidOut("POUT", 1, 1),)


def test_a_shot_with_parts_is_named_once() -> None:
    brows = ShotTrack("pier", "010", PartTrack("heron", ("BRUP", "BRUP", None, "BRUP", None, None)))
    (board,) = laid(ShootingPlan(shoot=(shoot("heron-1", "pier", "010"),)), [*TRACKS, brows]).values()
    assert board.shots == ("010",)
    assert board.pieces[-1] == LaidOut("BRUP", 1, 2)


def test_what_is_filmed_is_laid_out_no_more() -> None:
    filmed = [track("heron", "pier", "010", "REST REST OPEN1 OPEN1 REST SHUT", filmed=range(3))]
    plan = ShootingPlan(shoot=(shoot("heron-1", "pier"),))
    # Of OPEN1 frame 3 is left: it is on already, and lies on the board all the same.
    (board,) = laid(plan, filmed).values()
    assert board.pieces == (LaidOut("REST", 1, 1), LaidOut("SHUT", 1, 1), LaidOut("OPEN1", 1, 0))
    done = [track("heron", "pier", "010", "REST", filmed=[0])]
    assert laid(plan, done) == {}
