"""Orders from a plan, a count and earlier orders: small plans, each figure worked out by hand."""

from __future__ import annotations

import datetime
from typing import Any

import pytest

from lipsync.track import PartTrack, PieceTrack
from lipsync.workshop.counting import ShotTrack
from lipsync.workshop.order_rows import FirstNeed, HandOver, Order, PressingRow, Reckoned
from lipsync.workshop.pressings import order
from lipsync.workshop.shooting import ShootingPlan
from lipsync.workshop.stock import StockFile
from tests.fit.build import small_set
from tests.workshop.test_pressings import TRACKS, plan_of, shot

ONE = plan_of("heron-1 harbour 2-6", spares=0)  # OP is put on twice
TWO = plan_of("heron-2 harbour 2-6", "heron-1 harbour 3-6", spares=0)
BOTH = ("heron-2", "heron-1")


def day(number: int) -> datetime.date:
    return datetime.date(2026, 11, number)


def stock_of(counted: int, *rows: dict[str, Any]) -> StockFile:
    """A count of OP, of the heron."""
    pieces = tuple({"character": "heron", "code": "OP", **row} for row in rows)
    return StockFile.model_validate({"counted": day(counted).isoformat(), "piece": pieces})


def ordered(
    plan: ShootingPlan, reckoned: Reckoned | None = None, tracks: list[ShotTrack] = TRACKS, material: str = "clay"
) -> Order:
    return order(plan, tracks, {"heron": small_set(material)}, reckoned)


def the_row(found: Order, code: str = "OP") -> PressingRow:
    (row,) = [row for row in found.rows if row.code == code]
    return row


def filmed(*frames: int) -> list[ShotTrack]:
    """The shot of the harbour with frames in the can."""
    return [ShotTrack(TRACKS[0].scene, TRACKS[0].shot, TRACKS[0].track, frozenset(frames))]


# --- what is there, and what is on the way -----------------------------------------------------------------------


@pytest.mark.parametrize(
    ("rows", "lasts", "there", "worn_out", "to_make", "unneeded"),
    [
        ([{"there": 0}], 10, 0, 0, 1, 0),
        ([{"there": 1}], 10, 1, 0, 0, 0),
        ([{"there": 3}], 10, 3, 0, 0, 2),
        ([{"there": 1, "fitted": 10}], 10, 0, 1, 1, 0),  # used up
        ([{"there": 1, "fitted": 9}], 10, 1, 0, 1, 1),  # it lasts for one of two, and a new one is enough alone
        ([{"there": 1, "fitted": 8}], 10, 1, 0, 0, 0),
        ([{"there": 2, "fitted": 10}, {"there": 1, "fitted": 3}], 10, 1, 2, 0, 0),
    ],
)
def test_what_was_counted_is_not_made(rows, lasts, there, worn_out, to_make, unneeded) -> None:
    plan = plan_of("heron-1 harbour 2-6", spares=0, fittings_a_piece=lasts)
    row = the_row(ordered(plan, Reckoned(stock=stock_of(1, *rows))))
    assert (row.there, row.worn_out, row.to_make, row.unneeded) == (there, worn_out, to_make, unneeded)


@pytest.mark.parametrize(
    ("rows", "spares", "to_make", "worn"),
    [
        ([{"there": 2}], 1, 0, ()),
        ([{"there": 1}, {"there": 1, "fitted": 5}], 1, 0, ()),  # half of ten is left
        ([{"there": 1}, {"there": 1, "fitted": 6}], 1, 0, ()),  # the worn one serves, the new one is the spare
        ([{"there": 1}, {"there": 1, "fitted": 9}], 1, 0, (1,)),
        ([{"there": 1}, {"there": 1, "fitted": 9}], 0, 0, ()),  # no spare is wanted
        ([{"there": 1}, {"there": 1, "fitted": 9}, {"there": 1}], 1, 0, ()),  # another one is the spare
        ([{"there": 3, "fitted": 7}], 2, 0, (3, 3)),
        ([{"there": 1}, {"there": 2, "fitted": 7}], 2, 0, (3,)),
        ([{"there": 1}, {"there": 1, "fitted": 9}], 2, 1, (1,)),  # the other spare is made
    ],
)
def test_a_spare_that_is_more_than_half_used_up_is_told(rows, spares, to_make, worn) -> None:
    plan = plan_of("heron-1 harbour 2-6", spares=spares, fittings_a_piece=10)
    row = the_row(ordered(plan, Reckoned(stock=stock_of(1, *rows))))
    assert (row.to_make, row.worn_spares) == (to_make, worn)


def test_hard_pieces_are_never_used_up() -> None:
    plan = plan_of("heron-1 harbour 2-6", spares=0, fittings_a_piece=1)
    reckoned = Reckoned(stock=stock_of(1, {"there": 1, "fitted": 99}))
    row = the_row(ordered(plan, reckoned, material="hard"))
    assert (row.there, row.worn_out, row.to_make, row.material) == (1, 0, 0, "hard")
    assert the_row(ordered(plan, material="hard")).pressings == 1
    # The same of clay: one is needed for each fitting.
    assert the_row(ordered(plan)).pressings == 2


@pytest.mark.parametrize(
    ("rows", "earlier", "on_the_way", "assumed"),
    [
        ([{"there": 1}], 2, 1, 1),
        ([{"there": 1, "broke": 1}], 5, 3, 3),
        ([{"there": 2}], 1, 0, 0),  # more are there than were ordered
        ([{"there": 1, "ordered": 2}], 5, 2, 0),  # the count says it
        ([{"ordered": 2}, {"there": 1, "ordered": 1}, {"there": 1}], 9, 3, 0),
        ([{"there": 1, "ordered": 0}], 5, 0, 0),
        ([], 2, 2, 0),  # other pieces were counted, and this one was not
    ],
)
def test_what_is_on_the_way_is_what_the_count_or_else_orders_say(rows, earlier, on_the_way, assumed) -> None:
    reckoned = Reckoned(stock=stock_of(1, *rows), ordered={("heron", ("heron-1",), "OP"): earlier})
    row = the_row(ordered(ONE, reckoned))
    assert (row.on_the_way, row.assumed, row.ordered_before) == (on_the_way, assumed, earlier)


def test_without_a_count_what_was_ordered_is_on_the_way() -> None:
    row = the_row(ordered(ONE, Reckoned(ordered={("heron", ("heron-1",), "OP"): 1})))
    assert (row.there, row.on_the_way, row.assumed, row.to_make) == (0, 1, 0, 0)


def test_a_piece_that_nobody_needs_has_a_row_if_it_is_there_or_on_the_way() -> None:
    tucked = {"code": "TU", "there": 2}
    counted = the_row(ordered(ONE, Reckoned(stock=stock_of(1, tucked))), "TU")
    assert (counted.there, counted.boards, counted.pressings, counted.to_make, counted.unneeded) == (2, 0, 0, 0, 2)
    coming = the_row(ordered(ONE, Reckoned(ordered={("heron", ("heron-1",), "TU"): 1})), "TU")
    assert (coming.on_the_way, coming.frames_seen, coming.times_fitted) == (1, 0, 0)
    assert [row.code for row in ordered(ONE).rows] == ["RE", "SH", "OP"]


# --- the days after a count ----------------------------------------------------------------------------------------


def test_the_plan_begins_on_the_day_after_the_count() -> None:
    reckoned = Reckoned(stock=stock_of(4, {"there": 0}))
    assert the_row(ordered(ONE, reckoned)).needed_by == (day(5),)
    assert ordered(ONE, reckoned).late == ()
    assert the_row(ordered(ONE, Reckoned(stock=stock_of(1, {"there": 0})))).needed_by == (day(2),)
    assert the_row(ordered(ONE)).needed_by == (day(2),)


def test_for_a_piece_that_was_not_counted_the_plan_begins_on_its_first_day() -> None:
    reckoned = Reckoned(stock=stock_of(4, {"code": "RE", "there": 0}))
    assert the_row(ordered(ONE, reckoned)).needed_by == (day(2),)
    assert the_row(ordered(ONE, reckoned), "RE").needed_by == (day(5),)


def test_what_is_filmed_wears_nothing_any_more_once_it_is_counted() -> None:
    """RE OP RE OP SH: with three frames filmed OP is put on once more; with five nothing is."""
    plan = plan_of("heron-1 harbour 2-6", spares=0, fittings_a_piece=1)
    reckoned = Reckoned(stock=stock_of(4, {"there": 0}))
    assert the_row(ordered(plan, reckoned, filmed(0, 1, 2))).to_make == 1
    assert the_row(ordered(plan, reckoned, filmed(0, 1, 2, 3, 4))).to_make == 0
    assert the_row(ordered(plan, None, filmed(0, 1, 2))).to_make == 2  # not counted: from the first day on


@pytest.mark.parametrize(("last", "late"), [(3, True), (4, True), (5, False)])
def test_a_shot_whose_days_are_over_and_that_is_not_filmed_takes_one_day_more(last, late) -> None:
    found = ordered(plan_of(f"heron-1 harbour 2-{last}", spares=0), Reckoned(stock=stock_of(4, {"there": 0})))
    assert found.late == ((("heron-1", "harbour", "010"),) if late else ())
    assert the_row(found).needs == (FirstNeed(day(5), "heron-1", "harbour"),)


def test_a_late_shot_has_its_own_day_and_no_more() -> None:
    """Of two late shots both are on the 5th, so two puppets need a piece each; one from the 6th on gets it then."""
    tracks = [shot("harbour", "010", "OP RE"), shot("pier", "020", "OP RE"), shot("attic", "030", "OP RE")]
    plan = plan_of("heron-1 harbour 2-3", "heron-2 pier 3-4", "heron-3 attic 6-7", spares=0)
    row = the_row(ordered(plan, Reckoned(stock=stock_of(4, {"there": 0})), tracks))
    assert (row.at_once, row.to_make, row.boards) == (2, 2, 3)


@pytest.mark.parametrize(("change_over", "to_make"), [(0, 0), (1, 1)])
def test_a_piece_lies_on_its_board_until_the_day_of_the_count(change_over, to_make) -> None:
    plan = plan_of("heron-1 harbour 2-3", "heron-2 pier 5-6", spares=0, change_over_days=change_over)
    tracks = [ShotTrack("harbour", "010", TRACKS[0].track, frozenset(range(5))), TRACKS[1]]
    reckoned = Reckoned(stock=stock_of(4, {"there": 1, "puppet": "heron-1"}))
    assert the_row(ordered(plan, reckoned, tracks)).to_make == to_make


# --- when each is needed ----------------------------------------------------------------------------------------


FIRST, SECOND = FirstNeed(day(2), "heron-2", "harbour"), FirstNeed(day(3), "heron-1", "harbour")


@pytest.mark.parametrize(
    ("rows", "needs", "awaited"),
    [
        ([{"there": 0}], (FIRST, SECOND), ()),
        ([{"there": 1}], (SECOND,), ()),  # what is there goes on a board first
        ([{"ordered": 1}], (SECOND,), (day(2),)),
        ([{"there": 1, "ordered": 1}], (), (day(3),)),
        ([{"there": 1, "ordered": 3}], (), (day(3),)),
        ([{"there": 3}], (), ()),
        ([{"there": 1, "fitted": 5}], (SECOND,), ()),
        ([{"there": 1, "puppet": "heron-2"}], (SECOND,), ()),
        # What was worn or lies on a board stays where it is, so what is on the way is for the other puppet.
        ([{"there": 1, "fitted": 5, "puppet": "heron-2"}, {"ordered": 1}], (), (day(3),)),
        ([{"there": 1, "fitted": 5}, {"ordered": 1}], (), (day(3),)),
        ([{"there": 1, "puppet": "heron-2"}, {"ordered": 1}], (), (day(3),)),
    ],
)
def test_what_is_there_goes_on_boards_first_then_what_is_on_the_way_then_what_is_made(rows, needs, awaited) -> None:
    row = the_row(ordered(TWO, Reckoned(stock=stock_of(1, *rows))))
    assert row.needs == needs
    assert row.awaited == awaited
    assert row.to_make == len(needs)


def test_a_hard_piece_that_was_worn_is_as_good_as_a_new_one() -> None:
    reckoned = Reckoned(stock=stock_of(1, {"there": 1, "fitted": 7}, {"ordered": 1}))
    row = the_row(ordered(TWO, reckoned, material="hard"))
    assert (row.needs, row.awaited, row.to_make) == ((), (day(3),), 0)


def test_spares_are_needed_from_the_first_day_on_after_what_goes_on_boards() -> None:
    plan = plan_of("heron-2 harbour 2-6", "heron-1 harbour 3-6", spares=1)
    row = the_row(ordered(plan))
    assert row.needs == (FIRST, FirstNeed(day(2)), SECOND)
    assert (row.at_once, row.spares, row.pressings, row.to_make) == (2, 1, 3, 3)
    counted = the_row(ordered(plan, Reckoned(stock=stock_of(1, {"there": 1}))))
    assert counted.needs == (FirstNeed(day(2)), SECOND)


# --- from puppet to puppet --------------------------------------------------------------------------------------


def test_who_hands_what_to_whom() -> None:
    """RE and OP are in both scenes; heron-2 begins at the pier on the 6th, and heron-1 is done on the 4th."""
    plan = plan_of("heron-1 harbour 2-4", "heron-2 pier 6-7", spares=0)
    assert ordered(plan).hand_overs == tuple(
        HandOver(day(6), code, "heron-1", "heron-2", free=day(5)) for code in ("RE", "OP")
    )
    assert {row.code: (row.boards, row.pressings) for row in ordered(plan).rows} == {
        "RE": (2, 1),
        "SH": (1, 1),
        "OP": (2, 1),
    }


def test_a_piece_is_free_when_all_its_givers_rows_are_over() -> None:
    tracks = [shot("harbour", "010", "OP"), shot("harbour", "011", "OP"), shot("pier", "020", "OP")]
    plan = plan_of("heron-1 harbour 2-6 010", "heron-1 harbour 3-4 011", "heron-2 pier 9-9", spares=0)
    assert ordered(plan, None, tracks).hand_overs == (HandOver(day(9), "OP", "heron-1", "heron-2", free=day(7)),)


def test_what_goes_on_to_the_same_puppet_is_not_handed_over() -> None:
    plan = plan_of("heron-1 harbour 2-4", "heron-1 pier 6-7", spares=0)
    assert ordered(plan).hand_overs == ()
    assert the_row(ordered(plan)).pressings == 1


def test_a_piece_that_is_between_two_puppets_is_on_no_board() -> None:
    plan = plan_of("heron-1 harbour 2-4", "heron-2 pier 5-6", spares=0, change_over_days=1)
    row = the_row(ordered(plan))
    assert (row.at_once, row.changing_over, row.used_up, row.pressings) == (1, 1, 0, 2)
    worn = plan_of("heron-1 harbour 2-4", spares=0, fittings_a_piece=1)
    row = the_row(ordered(worn))
    assert (row.at_once, row.changing_over, row.used_up, row.pressings) == (1, 0, 1, 2)


def test_heads_that_take_other_mouths_have_rows_of_their_own() -> None:
    plan = plan_of("heron-1 harbour 2-4", "heron-2 pier 6-7", spares=0)
    reckoned = Reckoned(
        heads={"heron": (("heron-1",), ("heron-2",))},
        stock=stock_of(1, {"there": 1, "puppet": "heron-2"}),
        ordered={("heron", ("heron-1",), "OP"): 1},
    )
    found = ordered(plan, reckoned)
    assert [(row.heads, row.there, row.on_the_way, row.to_make) for row in found.rows if row.code == "OP"] == [
        (("heron-1",), 0, 1, 0),
        (("heron-2",), 1, 0, 0),
    ]
    assert found.hand_overs == ()


# --- parts, and how far it is -----------------------------------------------------------------------------------


def test_parts_come_after_mouths_and_those_of_others_are_passed_over() -> None:
    brows = ShotTrack("harbour", "010", PartTrack("heron", ("BR", "BR", None, None, None)))
    gulls = ShotTrack("harbour", "010", PartTrack("gull", ("AA",) * 5))
    found = ordered(ONE, None, [brows, gulls, TRACKS[0]])
    assert [(row.character, row.code, row.frames_seen) for row in found.rows] == [
        ("heron", "RE", 2),
        ("heron", "SH", 1),
        ("heron", "OP", 2),
        ("heron", "BR", 2),
    ]


def test_what_is_no_part_and_not_in_the_mouth_set_is_not_made() -> None:
    track = ShotTrack("harbour", "010", PieceTrack("heron", ("RE", "OLD")))
    assert [row.code for row in ordered(ONE, None, [track]).rows] == ["RE"]


def test_what_left_the_mouth_set_is_on_the_way_all_the_same_and_needed_no_more() -> None:
    track = ShotTrack("harbour", "010", PieceTrack("heron", ("RE", "OLD")))
    found = ordered(ONE, Reckoned(ordered={("heron", ("heron-1",), "OLD"): 2}), [track])
    row = the_row(found, "OLD")
    assert (row.on_the_way, row.pressings, row.to_make, row.unneeded) == (2, 0, 0, 2)
    assert [board.codes for board in found.boards] == [("RE",)]


def test_what_is_filmed_lies_on_no_board_once_pieces_are_counted() -> None:
    """RE SH OP RE OP, say, with all but the frames of RE in the can: what is counted is needed for what is left."""
    pieces = TRACKS[0].track.pieces
    left = filmed(*(frame for frame, code in enumerate(pieces) if code != "RE"))
    every = tuple(dict.fromkeys(code for code in ("RE", "SH", "OP", "TU") if code in pieces))
    assert [board.codes for board in ordered(ONE, None, left).boards] == [every]
    counted = tuple({"character": "heron", "code": code, "there": 1} for code in every)
    stock = StockFile.model_validate({"counted": day(1).isoformat(), "piece": counted})
    found = ordered(ONE, Reckoned(stock=stock), left)
    assert [board.codes for board in found.boards] == [("RE",)]
    assert {row.code: row.boards for row in found.rows} == {code: int(code == "RE") for code in every}


def test_a_spare_on_the_way_is_awaited_on_no_board() -> None:
    plan = plan_of("heron-1 harbour 2-6", spares=1)
    row = the_row(ordered(plan, Reckoned(ordered={("heron", ("heron-1",), "OP"): 2})))
    assert (row.on_the_way, row.to_make, row.awaited) == (2, 0, (day(2),))


def test_how_far_it_is_is_told_piece_by_piece() -> None:
    told: list[tuple[int, int]] = []
    sets = {"heron": small_set(), "crab": small_set()}
    order(TWO, TRACKS, sets, None, lambda doing, done, total: told.append((done, total)))
    assert told == [(done, 8) for done in range(9)]  # four pieces of each of the two
