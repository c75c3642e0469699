"""The shooting plan by itself: who is where on which day, what holds for a piece, and what cannot be."""

from __future__ import annotations

from types import SimpleNamespace

import pytest

from lipsync.workshop.shooting import (
    PieceReckoning,
    Shoot,
    ShootingPlan,
    faults_in,
    heads_faults,
    heads_of,
    no_such_piece,
    piece_faults,
)
from tests.workshop.test_pressings import plan_of


def row(text: str) -> Shoot:
    return plan_of(text).shoot[0]


def unread(**fields: object) -> Shoot:
    """A row of a file with faults: what could not be read is None."""
    return Shoot.model_construct(
        **{"puppet": None, "scene": None, "shots": None, "first": None, "last": None, **fields}
    )


# --- rows -----------------------------------------------------------------------------------------------------


def test_a_row_has_all_shots_of_its_scene_or_those_it_names() -> None:
    whole, some = row("heron-1 harbour 2-3"), row("heron-1 harbour 2-3 010 020")
    assert [whole.takes(*shot) for shot in (("harbour", "010"), ("harbour", "030"), ("pier", "010"))] == [
        True,
        True,
        False,
    ]
    assert [some.takes(*shot) for shot in (("harbour", "010"), ("harbour", "030"), ("pier", "010"))] == [
        True,
        False,
        False,
    ]
    assert (whole.where, some.where) == ("'harbour'", "'harbour' (010, 020)")


@pytest.mark.parametrize(
    ("days", "meets"), [("1-1", False), ("1-2", True), ("3-3", True), ("4-9", True), ("5-9", False)]
)
def test_rows_meet_on_the_days_that_both_have(days, meets) -> None:
    one, other = row("heron-1 harbour 2-4"), row(f"heron-1 pier {days}")
    assert one.meets(other) == other.meets(one) == meets


@pytest.mark.parametrize(
    ("other", "stays"),
    [
        ("harbour 2-3 020", True),
        ("harbour 2-3 010 020", False),
        ("harbour 2-3", False),  # that is all shots
        ("pier 2-3 020", False),
    ],
)
def test_a_puppet_may_be_in_one_scene_for_different_shots(other, stays) -> None:
    one = row("heron-1 harbour 2-3 010")
    assert one.stays_for(row(f"heron-1 {other}")) == row(f"heron-1 {other}").stays_for(one) == stays


def test_the_last_day_may_be_the_first() -> None:
    assert list(row("heron-1 harbour 2-2").faults()) == []
    assert list(unread(first=row("heron-1 harbour 2-2").first).faults()) == []
    assert list(unread(last=row("heron-1 harbour 2-2").first).faults()) == []


def test_a_puppet_in_two_places_is_told_for_each_two_rows_that_can_be_read() -> None:
    rows = plan_of("heron-1 harbour 2-3", "heron-2 pier 2-3", "heron-1 attic 9-9").shoot
    late = row("heron-1 pier 3-9")
    broken = [unread(puppet="heron-1", first=late.first), unread(puppet="heron-1", last=late.last), None]
    broken.append(unread(first=late.first, last=late.last))
    plan = ShootingPlan.model_construct(shoot=(*broken, *rows, late))
    assert [(place, text.partition(";")[0]) for place, text in plan.faults()] == [
        ("[[shoot]] 5 and 8", "puppet 'heron-1' shoots 'harbour' and 'pier' on the same day, 2026-11-03"),
        ("[[shoot]] 7 and 8", "puppet 'heron-1' shoots 'attic' and 'pier' on the same day, 2026-11-09"),
    ]
    assert list(ShootingPlan.model_construct(shoot=None).faults()) == []


# --- what holds for a piece ------------------------------------------------------------------------------------


def test_a_piece_has_its_own_values_or_those_of_all() -> None:
    own = (
        PieceReckoning(character="heron", code="OP", spares=0, fittings=25, material="hard"),
        PieceReckoning(character="heron", code="RE"),
        PieceReckoning(character="crab", code="SH", spares=9),
    )
    plan = ShootingPlan(spares=2, fittings_a_piece=30, piece=own)
    asked = [("heron", "OP"), ("heron", "RE"), ("heron", "SH"), ("crab", "OP")]
    assert [plan.spares_of(*piece) for piece in asked] == [0, 2, 2, 2]
    assert [plan.fittings_of(*piece) for piece in asked] == [25, 30, 30, 30]
    assert [plan.material_of(*piece, "clay") for piece in asked] == ["hard", "clay", "clay", "clay"]


# --- against the production ------------------------------------------------------------------------------------


def test_rows_that_do_not_fit_are_told_and_what_could_not_be_read_is_passed_over() -> None:
    shoots = (
        None,
        unread(),
        unread(puppet="gull-1"),
        unread(scene="harbour", shots=(None, "010", "099")),
        unread(puppet="heron-2", scene="attic", shots=("010",)),
        unread(puppet="crab-1", scene="harbour"),
    )
    plan = ShootingPlan.model_construct(shoot=shoots)
    assert list(faults_in(plan, {"heron": 2, "crab": 1}, {"harbour": ["010"], "pier": []})) == [
        ("[[shoot]] 3 puppet", "nobody has the puppet 'gull-1'; the puppets are heron-1 to heron-2, crab-1"),
        ("[[shoot]] 4 shots", "scene harbour has no shot '099'; it has 010"),
        ("[[shoot]] 5 scene", "there is no scene 'attic'; the scenes are harbour, pier"),
    ]
    assert list(faults_in(ShootingPlan.model_construct(shoot=None), {}, {})) == []


MEND = ": correct it, or take the row out"
CODES = {"heron": ["RE", "OP"], "crab": ["SH"]}


def test_a_piece_that_nobody_has_is_told() -> None:
    assert list(no_such_piece("heron", "OP", CODES)) == []
    assert list(no_such_piece("heron", "OP", {"heron": []})) == []  # its mouth set cannot be read, which is told
    assert list(no_such_piece("gull", "OP", CODES)) == [
        ("character", "there is no character 'gull'; the characters are heron, crab")
    ]
    assert list(no_such_piece("heron", "SH", CODES)) == [("code", "heron has no piece 'SH'; it has RE, OP" + MEND)]


def test_each_piece_has_one_row() -> None:
    pieces = [("heron", "OP"), None, (None, "OP"), ("heron", None), ("crab", "OP"), ("heron", "RE"), ("heron", "OP")]
    rows = [one and SimpleNamespace(character=one[0], code=one[1]) for one in pieces]
    assert list(piece_faults(rows, CODES)) == [
        ("[[piece]] 5 code", "crab has no piece 'OP'; it has SH" + MEND),
        ("[[piece]] 7", "is also row 1, heron OP; make one of them"),
    ]


# --- heads ------------------------------------------------------------------------------------------------------


def test_heads_are_in_groups_by_the_first_of_each() -> None:
    assert heads_of("heron", 1, True) == (("heron-1",),)
    assert heads_of("heron", 4, (("heron-2", "heron-4"),)) == (("heron-1",), ("heron-2", "heron-4"), ("heron-3",))
    assert heads_of("heron", 3, (("heron-3",), ("heron-2", "heron-1"))) == (("heron-2", "heron-1"), ("heron-3",))


@pytest.mark.parametrize("nothing_to_tell", [True, False, None, (), (("heron-1", "heron-2"),)])
def test_heads_that_can_be(nothing_to_tell) -> None:
    assert list(heads_faults("heron", 2, nothing_to_tell)) == []


def test_heads_that_cannot_be() -> None:
    groups = (("heron-1", "heron-3"), (), None, ("heron-2", "heron-1", "heron-2"))
    empty = "names no puppet; name those whose heads take the same mouths, or take it out"
    assert list(heads_faults("heron", 2, groups)) == [
        ("interchangeable 1", "nobody has the puppet 'heron-3'; the puppets are heron-1, heron-2"),
        ("interchangeable 2", empty),
        ("interchangeable 3", empty),
        ("interchangeable 4", "names heron-1, which is in a group already; leave it in one of them"),
        ("interchangeable 4", "names heron-2, which is in a group already; leave it in one of them"),
    ]
