"""What an order takes to make: reckoned by hand, in files and answers as on paper, and what is refused."""

from __future__ import annotations

import csv
import datetime
import json
from collections import Counter
from dataclasses import replace
from decimal import Decimal

import openpyxl
import pytest

from lipsync.app.order.order_files import write_order
from lipsync.app.order.order_tables import group_rows
from lipsync.app.order.ordering import order_pieces
from lipsync.errors import ExitCode, InputError
from lipsync.production.loading import open_production
from lipsync.workshop.making import Making
from lipsync.workshop.making_cost import Cost, making_cost, week_of
from lipsync.workshop.order_groups import grouped
from lipsync.workshop.order_rows import FirstNeed, PressingRow
from lipsync.workshop.shooting import Material, ShootingPlan
from tests.running import run
from tests.workshop.conftest import check_pages, lines_of, pages_of

MATERIALS: dict[str, Material] = {"heron": "clay", "crab": "hard"}
FIGURES = """
[making]
currency = "EUR"

[making.clay]
minutes_a_pressing = 20
pressings_a_mould = 2
pressings_a_batch = 12
price_a_pressing = 1.50

[making.hard]
minutes_a_pressing = 6
pressings_a_batch = 40
"""


def needed(code: str, *days: int, character: str = "heron", before: int = 0) -> PressingRow:
    needs = tuple(FirstNeed(datetime.date(2026, 12, day), f"{character}-1", "harbour") for day in days)
    made = PressingRow(character, code, 9, 9, 1, 1, 0, 0, to_make=len(days), needs=needs, ordered_before=before)
    return replace(made, material=MATERIALS[character])


def making(**tables: object) -> Making:
    return Making.model_validate({"currency": "EUR", **tables})


@pytest.mark.parametrize(
    ("day", "week"),
    [
        # ISO 8601: week 1 is the one with the year's first Thursday; these are told wherever it is explained.
        ("2005-01-01", "2004-W53"),
        ("2007-01-01", "2007-W01"),
        ("2008-12-29", "2009-W01"),
        ("2010-01-03", "2009-W53"),
    ],
)
def test_weeks_are_those_of_iso_8601(day: str, week: str) -> None:
    assert week_of(datetime.date.fromisoformat(day)) == week


def test_an_order_reckoned_by_hand() -> None:
    """Seven of clay in two weeks: five fill two trays of three, two another; a mould lasts for three."""
    clay = {"minutes_a_pressing": 20, "pressings_a_mould": 3, "pressings_a_batch": 3, "price_a_pressing": 1.5}
    rows = [needed("REST", 1, 2, 3, 9), needed("OPEN", 1, 2, 8)]
    found = making_cost(making(clay=clay), rows, planned=True)
    assert found is not None
    # REST: a mould at its first and its fourth, which is of the second week. OPEN: one.
    assert found.pieces == (
        Cost(4, 80.0, 2, None, Decimal("6.00")),
        Cost(3, 60.0, 1, None, Decimal("4.50")),
    )
    assert found.weeks == (
        ("2026-W49", Cost(5, 100.0, 2, 2, Decimal("7.50"))),
        ("2026-W50", Cost(2, 40.0, 1, 1, Decimal("3.00"))),
    )
    assert found.total == Cost(7, 140.0, 3, 3, Decimal("10.50"))
    assert found.not_given == {}


@pytest.mark.parametrize(("before", "moulds"), [(0, 1), (2, 1), (3, 1), (1, 0)])
def test_what_was_ordered_before_has_worn_the_mould(before: int, moulds: int) -> None:
    """A mould lasts for three, and two are pressed: from a new mould, or on with the old one as far as it goes."""
    rows = [needed("REST", 1, 1, before=before)]
    found = making_cost(making(clay={"pressings_a_mould": 3}), rows, planned=True)
    assert found is not None
    assert found.total.moulds == moulds


def test_pieces_of_one_kind_share_a_batch_and_others_do_not() -> None:
    clay, hard = {"pressings_a_batch": 4}, {"pressings_a_batch": 4}
    rows = [needed("REST", 1, 1), needed("OPEN", 2), needed("REST", 1, character="crab")]
    found = making_cost(making(clay=clay, hard=hard), rows, planned=True)
    assert found is not None
    assert found.total.batches == 2
    own = ({"character": "heron", "code": "OPEN", "pressings_a_batch": 1},)
    found = making_cost(making(clay=clay, hard=hard, piece=own), rows, planned=True)
    assert found is not None
    assert found.total.batches == 3


def test_a_piece_has_figures_of_its_own_and_what_is_not_given_is_told() -> None:
    own = ({"character": "heron", "code": "OPEN", "minutes_a_pressing": 45},)
    rows = [needed("REST", 1), needed("OPEN", 1), needed("REST", 1, character="crab")]
    found = making_cost(making(piece=own, clay={"price_a_pressing": 2}), rows, planned=True)
    assert found is not None
    assert found.total == Cost(3, 45.0, None, None, Decimal("4.00"))
    assert found.not_given == {
        "minutes": (("heron", "REST"), ("crab", "REST")),
        "price": (("crab", "REST"),),
    }
    assert making_cost(Making(), rows, planned=True) is None


def test_without_a_plan_there_are_no_weeks() -> None:
    found = making_cost(making(clay={"minutes_a_pressing": 9}), [needed("REST", 1, 9)], planned=False)
    assert found is not None
    assert found.weeks == (("", Cost(2, 18.0)),)


def with_figures(folder, more: str = ""):
    file = folder / "production.toml"
    file.write_text(file.read_text(encoding="utf-8") + FIGURES + more, encoding="utf-8")
    return open_production(folder)


def test_pages_tables_and_answer_say_the_same(sample) -> None:
    with_figures(sample)
    done = run("order", sample, "--look", "--json", "--by", "week")
    assert done.code == ExitCode.DONE
    told = json.loads(done.out)
    made = told["making"]
    with (sample / "sheets/order.csv").open(encoding="utf-8-sig", newline="") as file:
        rows = list(csv.DictReader(file))
    by_hand = Counter()
    for row in rows:
        many, clay = int(row["pressings_to_make"]), row["character"] == "heron"
        assert float(row["minutes"]) == many * (20 if clay else 6)
        assert row["moulds"] == (str(-(-many // 2)) if clay else "")
        assert row["price"] == (str(many * 1.5) if clay else "")
        by_hand.update(pressings=many, minutes=many * (20 if clay else 6), moulds=-(-many // 2) if clay else 0)
        for day in row["needed_by"].split():
            by_hand["{}-W{:02}".format(*datetime.date.fromisoformat(day).isocalendar())] += 1
    assert {key: made["total"][key] for key in ("pressings", "minutes", "moulds")} == {
        key: by_hand[key] for key in ("pressings", "minutes", "moulds")
    }
    assert {one["week"]: one["pressings"] for one in made["weeks"]} == {
        key: many for key, many in by_hand.items() if "-W" in key
    }
    for key in ("pressings", "minutes", "moulds", "batches", "price"):
        assert sum(one[key] for one in made["weeks"]) == made["total"][key]
    assert {one["code"] for one in made["not_given"]["price"]} == {
        row["code"] for row in rows if row["character"] == "crab"
    }
    with (sample / "sheets/order-weeks.csv").open(encoding="utf-8-sig", newline="") as file:
        weeks = list(csv.DictReader(file))
    assert [(row["week"], int(row["pressings"]), float(row["minutes"])) for row in weeks] == [
        (one["week"], one["pressings"], one["minutes"]) for one in made["weeks"]
    ]
    pages = pages_of(sample / "sheets/order.pdf")
    check_pages(pages)
    lines = lines_of(pages)
    for one in made["weeks"]:
        hours = f"{one['minutes'] / 60:.1f}"
        said = [str(one[key]) for key in ("moulds", "batches")]
        assert any(
            line[0] == one["week"] and line[2:] == [str(one["pressings"]), hours, *said, f"{one['price']:.2f}"]
            for line in lines
        )
    book = openpyxl.load_workbook(sample / "sheets/order.xlsx", data_only=True)
    sheet = next(one for one in book if one["A1"].value == "week" and one["B1"].value == "from")
    assert [[cell.value for cell in row] for row in sheet.iter_rows(min_row=2)][-1][2:] == [
        made["total"]["pressings"],
        pytest.approx(made["total"]["minutes"] / 60, abs=1e-9),
        *(made["total"][key] for key in ("moulds", "batches", "price")),
    ]
    # The hours of pieces come to the same total: 20 minutes are a third of an hour, and are not rounded before.
    by_piece = next(one for one in book if one["A1"].value == "character" and one["D1"].value == "hours")
    *_, last = by_piece.iter_rows(min_row=2, values_only=True)
    assert last[3] == pytest.approx(made["total"]["minutes"] / 60, abs=1e-9)
    grouped_by_week = Counter()
    for one in told["groups"]:
        grouped_by_week[one["group"]] += one["pressings_to_make"]
    assert grouped_by_week == {one["week"]: one["pressings"] for one in made["weeks"]}


def test_nothing_is_shown_where_nothing_is_given(production, tracked, tmp_path) -> None:
    made, _ = order_pieces(production, tracked, look=True)
    paths = write_order(production, made, tmp_path)
    assert (made.making, made.making_record) == (None, None)
    assert [path.name for path in paths] == ["order.pdf", "order.csv", "order.xlsx"]
    assert "minutes" not in (tmp_path / "order.csv").read_text(encoding="utf-8-sig")
    words = production.file.sheet.words
    assert words.making not in [text for line in lines_of(pages_of(tmp_path / "order.pdf")) for text in line]
    assert not any(words.making in name for name in openpyxl.load_workbook(tmp_path / "order.xlsx").sheetnames)


def test_an_order_by_scene_puppet_and_character_sums_to_itself(production, tracked) -> None:
    made, _ = order_pieces(production, tracked, look=True)
    rows = made.order.rows
    total = Counter({(row.character, row.code): row.to_make for row in rows})
    for by in ("scene", "puppet", "character", "week"):
        found = Counter()
        for one in grouped(rows, by, planned=True):
            found[one.character, one.code] += one.to_make
        assert found == total, by
    # By the plan's own rows: each board takes what its scenes wear for the first time; what is left is spares.
    shoots = {(shoot.puppet, shoot.scene) for shoot in made.plan.shoot}
    for row in rows:
        own = [need for need in row.needs if need.puppet]
        assert {(need.puppet, need.scene) for need in own} <= shoots
        assert len(row.needs) - len(own) == row.spares
        assert {need.puppet for need in own} <= set(made.boards_with(row))


def test_figures_that_cannot_be_are_told_in_one_go(sample) -> None:
    bad = """
[[making.piece]]
character = "heron"
code = "GAPE"
pressings_a_mould = 0

[[making.piece]]
character = "crab"
code = "REST"

[[making.piece]]
character = "crab"
code = "REST"
minutes_a_pressing = -3
"""
    with pytest.raises(InputError) as told:
        with_figures(sample, bad.replace("[making]", ""))
    text = str(told.value)
    for said in (
        '[making] [[piece]] 1 "GAPE" pressings_a_mould: found 0; 1 or more is allowed',
        "[making] [[piece]] 1 code: heron has no piece 'GAPE'; it has",
        "[making] [[piece]] 2: says nothing of REST; give one of minutes_a_pressing",
        '[making] [[piece]] 3 "REST" minutes_a_pressing: found -3; more than 0 is allowed',
        "[making] [[piece]] 3: is also row 2, crab REST; make one of them",
    ):
        assert said in text, said


def test_no_fault_of_making_waits_for_another(sample) -> None:
    """What two fields contradict each other in is told with what is wrong with any other field, and of any table."""
    file = sample / "production.toml"
    bad = """
[making.clay]
price_a_pressing = 1.5
minutes_a_pressing = -3

[[making.piece]]
character = "heron"
code = "GAPE"

[[labels.sheet]]
name = "dot"
columns = 0
rows = 9
width_mm = 50.0
height_mm = 20.0

[labels]
drawers = "huge"
colour = "red"
"""
    text = file.read_text(encoding="utf-8").replace("last = 2026-12-11", "last = 2026-11-11")
    file.write_text(text.replace("spares = 1", "spares = -1") + bad, encoding="utf-8")
    with pytest.raises(InputError) as told:
        open_production(sample)
    found = [str(one).removeprefix(f"{file}: ") for one in told.value.problems]
    for said in (
        "[making] [clay] minutes_a_pressing: found -3; more than 0 is allowed",
        '[making] currency: is missing; say what the prices are in, such as currency = "EUR"',
        "[making] [[piece]] 1 code: heron has no piece 'GAPE'; it has",
        "[making] [[piece]] 1: says nothing of GAPE; give one of minutes_a_pressing",
        "[shooting] spares: found -1; 0 or more is allowed",
        "[shooting] [[shoot]] 1 last: 2026-11-11 is before first, 2026-11-30; give the days in order",
        '[labels] [[sheet]] 1 "dot" columns: found 0; 1 or more is allowed',
        "[labels] colour: is not known here; check its spelling or take it out",
    ):
        assert [one for one in found if one.startswith(said)] != [], (said, found)
    assert len(found) == len(set(found))
    assert not any("\n" in one for one in found)


def test_prices_say_what_they_are_in() -> None:
    with pytest.raises(ValueError, match="currency: is missing; say what the prices are in"):
        Making.model_validate({"clay": {"price_a_pressing": 1.5}})


def test_sets_of_pieces_are_weighed_against_what_they_take(sample) -> None:
    with_figures(sample)
    done = run("worth", sample, "crab", "--json")
    assert done.code == ExitCode.DONE
    rows = json.loads(done.out)["rows"]
    # One crab, one spare of each piece; hard pieces are not used up: two of each that any planned shot wears.
    for row in rows:
        assert row["pressings"] % 2 == 0
        assert row["pressings"] <= 2 * row["pieces"]
        assert row["minutes"] == 6 * row["pressings"]
        assert (row["moulds"], row["price"]) == (None, None)
    assert rows[0]["pressings"] < rows[-1]["pressings"]
    pages = pages_of(sample / "sheets/worth-crab.pdf")
    check_pages(pages)
    assert "making against looks" in [text for line in lines_of(pages) for text in line]
    assert (sample / "sheets/worth-crab.csv").read_bytes().startswith(b"\xef\xbb\xbfpieces,")


def test_cost_is_no_part_of_what_a_revision_says(production, tracked) -> None:
    dear = production.file.model_copy(update={"making": making(clay={"price_a_pressing": 9})})
    cheap, _ = order_pieces(production, tracked)
    costly, _ = order_pieces(replace(production, file=dear), tracked)
    assert cheap.revision is not None
    assert costly.revision is not None
    assert cheap.revision.state.stamp == costly.revision.state.stamp


def test_screen_and_workbook_name_the_revision_and_what_no_figure_is_given_for(sample) -> None:
    with_figures(sample)
    done = run("order", sample)
    kept = json.loads((sample / "orders/A.json").read_text(encoding="utf-8"))
    said = f"revision A  ·  stamp {kept['stamp']}"
    assert done.out.splitlines()[0] == said
    pieces = ", ".join(f"crab {row['code']}" for row in kept["pieces"] if row["character"] == "crab")
    assert f"[making]: price_a_pressing is not given for {pieces}, which are not in the sums" in done.err
    first, *_ = openpyxl.load_workbook(sample / "sheets/order.xlsx").worksheets
    read_first = [cell.value for cell in first["A"]]
    assert said in read_first
    assert f"Not in the sums of price, EUR, since no figure is given: {pieces}" in read_first
    with (sample / "sheets/order.csv").open(encoding="utf-8-sig", newline="") as file:
        assert all(pieces in row["read_first"] for row in csv.DictReader(file))


@pytest.mark.parametrize("by", ["scene", "character", "puppet", "week"])
def test_columns_are_named_for_what_is_grouped_by_and_spares_for_what_they_are(
    production, tracked, tmp_path, by
) -> None:
    made, _ = order_pieces(production, tracked, look=True, by=by)
    rows = group_rows(production, made)
    assert {next(iter(row)) for row in rows} == {by}
    assert all(row[by] for row in rows)
    spares = sum(row.spares for row in made.order.rows)
    named = sum(row["pressings_to_make"] for row in rows if row[by] == "spares")
    assert named == (spares if by in ("scene", "puppet") else 0)
    write_order(production, made, tmp_path)
    book = openpyxl.load_workbook(tmp_path / "order.xlsx", data_only=True)
    (sheet,) = (one for one in book if one.title.endswith(f"to make, by {by}"))
    heads, *told, total = sheet.iter_rows(values_only=True)
    assert (total[0], total[-1]) == ("total", sum(row.to_make for row in made.order.rows))
    assert heads == tuple(dict.fromkeys((by, "character", "code", "to make")))
    assert [row[0] for row in told] == [row[by] for row in rows]


def test_without_a_plan_no_week_is_taken_for_spares(production, tracked) -> None:
    bare = production.file.model_copy(update={"shooting": ShootingPlan()})
    made, _ = order_pieces(replace(production, file=bare), tracked, look=True, by="week")
    assert {row["week"] for row in group_rows(production, made)} == {"no days planned"}
    assert {one["group"] for one in made.group_records} == {None}
