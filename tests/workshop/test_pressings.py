"""Pressings from the shooting plan, on plans and tracks written by hand."""

from __future__ import annotations

import random
from collections import Counter
from pathlib import Path

import pytest

from lipsync.errors import InputError
from lipsync.tomlfile import read_table
from lipsync.track import PieceTrack
from lipsync.workshop.counting import ShotTrack
from lipsync.workshop.order_rows import Board
from lipsync.workshop.pressings import order
from lipsync.workshop.shooting import ShootingPlan, faults_in
from tests.fit.build import small_set


def plan_of(*rows: str, **more: int) -> ShootingPlan:
    """Rows such as "heron-1 harbour 2-6": puppet, scene, days of November."""
    shoots = []
    for row in rows:
        puppet, scene, days = row.split()[:3]
        first, last = days.split("-")
        shoots.append(
            {
                "puppet": puppet,
                "scene": scene,
                "shots": tuple(row.split()[3:]),
                "first": f"2026-11-{first:0>2}",
                "last": f"2026-11-{last:0>2}",
            }
        )
    return ShootingPlan.model_validate({"shoot": tuple(shoots), **more})


def shot(scene: str, shot_id: str, codes: str, character: str = "heron") -> ShotTrack:
    pieces = tuple(codes.split())
    return ShotTrack(scene, shot_id, PieceTrack(character, pieces))


TRACKS = [
    shot("harbour", "010", "RE OP RE OP SH"),  # RE 2 times, OP 2, SH 1
    shot("pier", "020", "RE OP OP RE"),  # RE 2, OP 1
]


def made(plan: ShootingPlan, tracks: list[ShotTrack] = TRACKS, material: str = "clay") -> dict[str, tuple[int, ...]]:
    rows = order(plan, tracks, {"heron": small_set(material), "crab": small_set()}).rows
    return {
        row.code: (row.times_fitted, row.boards, row.at_once, row.used_up, row.spares, row.pressings) for row in rows
    }


def test_puppets_that_shoot_at_once_have_their_own() -> None:
    plan = plan_of("heron-1 harbour 2-6", "heron-2 pier 6-9", spares=0)
    assert made(plan) == {
        "RE": (4, 2, 2, 0, 0, 2),
        "OP": (3, 2, 2, 0, 0, 2),
        "SH": (1, 1, 1, 0, 0, 1),
    }


def test_pieces_go_on_to_the_next_board_when_days_are_over() -> None:
    plan = plan_of("heron-1 harbour 2-6", "heron-2 pier 7-9", spares=2)
    assert made(plan) == {
        "RE": (4, 2, 1, 0, 2, 3),
        "OP": (3, 2, 1, 0, 2, 3),
        "SH": (1, 1, 1, 0, 2, 3),
    }


def test_clay_wears_and_hard_pieces_do_not() -> None:
    plan = plan_of("heron-1 harbour 2-6", "heron-1 pier 7-9", spares=0, fittings_a_piece=3)
    # RE is fitted 4 times on one board: a second follows on. OP 3 times: just enough.
    assert {code: row[2:4] for code, row in made(plan).items()} == {"RE": (1, 1), "OP": (1, 0), "SH": (1, 0)}
    assert {code: row[2:4] for code, row in made(plan, material="hard").items()} == {
        "RE": (1, 0),
        "OP": (1, 0),
        "SH": (1, 0),
    }


def test_a_puppet_that_comes_back_to_a_shot_goes_on_with_it() -> None:
    """A break in the shooting is two rows: each piece is put on as often as in one."""
    once = made(plan_of("heron-1 harbour 2-9", spares=0, fittings_a_piece=2))
    assert once == {"RE": (2, 1, 1, 0, 0, 1), "OP": (2, 1, 1, 0, 0, 1), "SH": (1, 1, 1, 0, 0, 1)}
    assert made(plan_of("heron-1 harbour 2-4", "heron-1 harbour 7-9", spares=0, fittings_a_piece=2)) == once


def test_two_puppets_on_one_shot_wear_two_pieces() -> None:
    plan = plan_of("heron-1 harbour 2-4", "heron-2 harbour 2-4", spares=0, fittings_a_piece=1)
    # On film RE is put on twice; on each of two boards its second fitting needs a second pressing.
    assert made(plan)["RE"] == (2, 2, 2, 2, 0, 4)


def test_shots_of_a_scene_may_share_a_day() -> None:
    tracks = [*TRACKS, shot("harbour", "011", "OP RE OP RE")]
    plan = plan_of("heron-1 harbour 2-4 010", "heron-1 harbour 4-6 011", "heron-2 pier 5-6", spares=0)
    # One board keeps its pieces from shot to shot; on the fifth the other puppet is at work as well.
    assert {code: row[1:3] for code, row in made(plan, tracks).items()} == {"RE": (2, 2), "OP": (2, 2), "SH": (1, 1)}


@pytest.mark.parametrize("second", ["heron-1 harbour 4-6", "heron-1 harbour 4-6 010 011"])
def test_the_same_shot_twice_on_a_day_is_refused(second: str) -> None:
    with pytest.raises(
        ValueError, match=r"puppet 'heron-1' shoots 'harbour' \(010\) and 'harbour'.* on the same day"
    ):
        plan_of("heron-1 harbour 2-4 010", second)


def test_a_piece_that_is_nearly_used_up_is_not_used_up_for_nothing() -> None:
    """RE is on heron-1's board 3 times of 4, and lies idle at heron-2's: two more times are for that one."""
    tracks = [
        shot("harbour", "010", "RE OP RE OP RE"),
        shot("pier", "020", "RE"),
        shot("attic", "030", "RE OP RE"),
    ]
    plan = plan_of("heron-1 harbour 2-4", "heron-2 pier 2-4", "heron-1 attic 5-6", spares=0, fittings_a_piece=4)
    assert made(plan, tracks)["RE"][2:] == (2, 0, 0, 2)


def test_a_piece_that_is_only_on_film_is_not_made() -> None:
    plan = plan_of("heron-1 harbour 2-6")
    found = order(plan, [shot("harbour", "010", "RE OLD1 RE")], {"heron": small_set()})
    assert [row.code for row in found.rows] == ["RE"]
    assert found.boards == (Board("heron-1", ("RE",)),)


def test_boards_and_what_is_not_planned() -> None:
    plan = plan_of("heron-2 pier 2-3", "heron-1 harbour 2-6 010")
    tracks = [*TRACKS, shot("harbour", "011", "OP RE"), shot("pier", "020", "RE", "crab")]
    found = order(plan, tracks, {"heron": small_set(), "crab": small_set()})
    assert found.boards == (Board("heron-2", ("RE", "OP")), Board("heron-1", ("RE", "SH", "OP")))
    assert found.unplanned == (("heron", "harbour", "011"), ("crab", "pier", "020"))
    # Frames seen are those of what is planned, without OP and RE of 011; nobody is to shoot the crab.
    assert {row.code: row.frames_seen for row in found.rows} == {"RE": 4, "OP": 4, "SH": 1}
    assert {row.character for row in found.rows} == {"heron"}


def test_at_once_is_the_busiest_day() -> None:
    """Against another way to count: for each day, how many boards have the piece."""
    rows = ["heron-1 harbour 1-4", "heron-2 pier 3-5", "heron-3 harbour 5-8", "heron-1 pier 6-6", "heron-2 pier 8-9"]
    busiest: Counter[str] = Counter()
    codes = {"harbour": "RE OP SH", "pier": "RE OP"}
    for day in range(1, 10):
        today: Counter[str] = Counter()
        for row in rows:
            _, scene, days = row.split()
            first, last = map(int, days.split("-"))
            if first <= day <= last:
                today.update(codes[scene].split())
        busiest |= today
    found = made(plan_of(*rows, spares=0))
    assert {code: row[2] for code, row in found.items()} == dict(busiest)


def test_the_same_puppet_twice_at_once_is_refused(tmp_path: Path) -> None:
    path = tmp_path / "plan.toml"
    path.write_text(
        '[[shoot]]\npuppet = "heron-1"\nscene = "harbour"\nfirst = 2026-11-02\nlast = 2026-11-06\n'
        '[[shoot]]\npuppet = "heron-1"\nscene = "pier"\nfirst = 2026-11-06\nlast = 2026-11-09\n',
        encoding="utf-8",
    )
    message = r"\[\[shoot\]\] 1 and 2: puppet 'heron-1' shoots 'harbour' and 'pier' on the same day, 2026-11-06;"
    with pytest.raises(InputError, match=message):
        read_table(path, ShootingPlan)


def test_days_the_wrong_way_round_are_refused() -> None:
    with pytest.raises(ValueError, match="last: 2026-11-02 is before first, 2026-11-06; give the days in order"):
        plan_of("heron-1 harbour 6-2")


@pytest.mark.parametrize("puppet", ["heron-3", "heron-0", "heron-01", "heron", "gull-1", "-1", "heron-x"])
def test_a_puppet_that_nobody_has(puppet: str) -> None:
    found = list(faults_in(plan_of(f"{puppet} harbour 1-2"), {"heron": 2, "crab": 1}, {"harbour": ["010"]}))
    text = f"nobody has the puppet '{puppet}'; the puppets are heron-1 to heron-2, crab-1"
    assert found == [("[[shoot]] 1 puppet", text)]


def test_a_scene_or_shot_that_is_not_there() -> None:
    plan = plan_of("heron-1 attic 1-2", "heron-1 harbour 3-4 010 099")
    assert list(faults_in(plan, {"heron": 1}, {"harbour": ["010"]})) == [
        ("[[shoot]] 1 scene", "there is no scene 'attic'; the scenes are harbour"),
        ("[[shoot]] 2 shots", "scene harbour has no shot '099'; it has 010"),
    ]


def busiest(plan: ShootingPlan, code: str, tracks: list[ShotTrack]) -> int:
    """On how many puppets' boards a piece is at work on the busiest day, day by day."""
    wearing = {(track.scene, track.shot) for track in tracks if code in track.track.pieces}
    most = 0
    for day in range(1, 31):
        today = {
            shoot.puppet
            for shoot in plan.shoot
            for scene, shot_id in wearing
            if shoot.first.day <= day <= shoot.last.day
            and shoot.scene == scene
            and (not shoot.shots or shot_id in shoot.shots)
        }
        most = max(most, len(today))
    return most


def test_of_random_plans_no_more_is_made_than_if_each_puppet_kept_its_own() -> None:
    seed = random.Random(9)
    for _ in range(40):
        tracks = [
            shot(scene, f"{scene}{n}", " ".join(seed.choice(["RE", "OP", "SH"]) for _ in range(seed.randint(2, 9))))
            for scene in ("harbour", "pier")
            for n in range(2)
        ]
        rows = []
        for puppet in (1, 2, 3):
            day = 1
            while (day := day + seed.randint(0, 20)) < 28:
                last = min(30, day + seed.randint(0, 4))
                rows.append(f"heron-{puppet} {seed.choice(['harbour', 'pier'])} {day}-{last}")
                day = last + 1
        if not rows:
            continue
        lasts = seed.randint(2, 8)
        plan = plan_of(*rows, spares=0, fittings_a_piece=lasts)
        for row in order(plan, tracks, {"heron": small_set()}).rows:
            assert row.at_once == busiest(plan, row.code, tracks)
            worn: Counter[str] = Counter()
            for puppet, scene in {(shoot.puppet, shoot.scene) for shoot in plan.shoot}:
                for track in tracks:
                    if track.scene == scene:
                        worn[puppet] += sum(fitting.code == row.code for fitting in track.track.fittings)
            least = max(row.at_once, -(-sum(worn.values()) // lasts))
            own = sum(-(-times // lasts) for times in worn.values())
            assert least <= row.pressings <= own


def test_each_keeps_its_own_where_handing_on_would_use_one_up() -> None:
    tracks = [
        shot("harbour", "010", "RE OP RE OP RE OP RE OP RE"),
        shot("pier", "020", "RE OP RE OP RE"),
    ]
    plan = plan_of("heron-1 harbour 3-3", "heron-2 harbour 4-7", "heron-1 pier 6-9", spares=0, fittings_a_piece=8)
    assert made(plan, tracks)["RE"] == (8, 2, 2, 0, 0, 2)
