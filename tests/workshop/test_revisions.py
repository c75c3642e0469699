"""Orders A, B, C of a production that changes: letters, what is made in addition, stock, and what is refused."""

from __future__ import annotations

import json
from collections import Counter
from pathlib import Path

import openpyxl
import pytest

from lipsync.app.order.order_changes import order_changes
from lipsync.app.order.order_record import OrderedRow, OrderState
from lipsync.errors import ExitCode, InputError
from lipsync.paper.sheet_words import Words
from lipsync.production.loading import open_production
from tests.running import run
from tests.workshop.conftest import check_pages, lines_of, pages_of

BEFORE, AFTER = 'puppet = "heron-2"\nscene = "02-post-office"\nfirst = 2026-12-07', "first = 2026-12-14"


def ordered(folder: Path, *more: str) -> dict:
    done = run("order", folder, "--json", *more)
    assert done.code == ExitCode.DONE, done.err
    return json.loads(done.out)


def changed(folder: Path, was: str, now: str) -> None:
    path = folder / "production.toml"
    text = path.read_text(encoding="utf-8")
    assert text.count(was) == 1
    path.write_text(text.replace(was, now), encoding="utf-8")


def one_after_the_other(folder: Path) -> None:
    """The second heron waits for the first one's mouths."""
    changed(
        folder,
        'scene = "02-post-office"\nfirst = 2026-12-07\nlast = 2026-12-18\n\n[[shooting.shoot]]\npuppet = "crab-1"\nsc'
        'ene = "01',
        'scene = "02-post-office"\nfirst = 2026-12-14\nlast = 2026-12-18\n\n[[shooting.shoot]]\npuppet = "crab-1"\nsc'
        'ene = "01',
    )


def sums(told: dict, key: str) -> Counter[tuple[str, str]]:
    return Counter({(row["character"], row["code"]): row[key] for row in told["pieces"]})


def test_three_orders_make_what_the_last_needs_and_nothing_twice(sample) -> None:
    one_after_the_other(sample)
    first = ordered(sample)
    changed(sample, "spares = 1", "spares = 2")
    second = ordered(sample)
    changed(sample, "first = 2026-12-14", "first = 2026-12-07")
    third = ordered(sample)
    assert [told["revision"] for told in (first, second, third)] == ["A", "B", "C"]
    assert len({told["stamp"] for told in (first, second, third)}) == 3
    made = Counter()
    for told in (first, second, third):
        assert sums(told, "on_the_way") == made, "what was ordered is on the way, and not ordered again"
        made += sums(told, "pressings_to_make")
    assert made == sums(third, "pressings_needed")
    assert set(sums(second, "pressings_to_make").values()) == {1}
    assert "heron REST: 3 needed, were 2; 1 to make in addition" in second["changes"]
    assert first["changes"] == []
    # What the day on which each is first on a board is: the first of the second heron's, for what it alone needs.
    by = {row["code"]: row["needed_by"] for row in third["pieces"] if row["character"] == "heron"}
    assert by["REST"] == ["2026-12-07"]


def test_the_same_order_again_is_the_same_revision(sample) -> None:
    first = ordered(sample)
    pages = (sample / "sheets/order.pdf").read_bytes()
    assert ordered(sample) == first
    assert (sample / "sheets/order.pdf").read_bytes() == pages
    assert [path.name for path in (sample / "orders").iterdir()] == ["A.json"]


def test_what_is_only_looked_at_is_not_ordered(sample) -> None:
    told = ordered(sample, "--look")
    assert (told["revision"], told["stamp"]) == (None, None)
    assert not (sample / "orders").exists()
    text = " ".join(text for line in lines_of(pages_of(sample / "sheets/order.pdf")) for text in line)
    assert "only looked at, not ordered" in text
    assert ordered(sample)["revision"] == "A"


def test_less_needed_is_told(sample) -> None:
    ordered(sample)
    one_after_the_other(sample)
    told = ordered(sample)
    rest = next(row for row in told["pieces"] if (row["character"], row["code"]) == ("heron", "REST"))
    assert [rest[key] for key in ("pressings_needed", "on_the_way", "pressings_to_make", "needed_no_more")] == [
        2,
        3,
        0,
        1,
    ]
    assert "heron REST: 2 needed, were 3; 1 needed no more" in told["changes"]


def test_every_page_and_file_says_which_order_it_is(sample) -> None:
    ordered(sample)
    changed(sample, "spares = 1", "spares = 2")
    told = ordered(sample)
    pages = pages_of(sample / "sheets/order.pdf")
    check_pages(pages)
    for page in pages:
        text = " ".join(text for line in lines_of([page]) for text in line)
        for said in ("Low Tide Post", "revision B", told["stamp"], "2026-11-24", "safety data sheets", "local rules"):
            assert said in text
    book = openpyxl.load_workbook(sample / "sheets/order.xlsx")
    for sheet in book:
        for said in ("Low Tide Post", "revision B", told["stamp"], "2026-11-24"):
            assert said in sheet.oddHeader.left.text
        assert "safety data sheets" in sheet.oddFooter.left.text
        assert bool(sheet.auto_filter.ref) == (sheet.max_row > 1)
        assert sheet.page_setup.paperSize in (9, "9")
    rows = (sample / "sheets/order.csv").read_text(encoding="utf-8-sig").splitlines()[1:]
    assert all(f"Low Tide Post,2026-11-24,B,{told['stamp']}," in row for row in rows)


def test_hand_overs_are_listed_by_day(sample) -> None:
    one_after_the_other(sample)
    told = ordered(sample)
    boards = told["boards"]
    both = [code for code in boards["heron-1"] if code in boards["heron-2"]]
    expected = [{"day": "2026-12-14", "code": code, "giver": "heron-1", "taker": "heron-2"} for code in both]
    assert sorted(told["hand_overs"], key=lambda one: both.index(one["code"])) == expected
    lines = lines_of(pages_of(sample / "sheets/order.pdf"))
    at = next(n for n, line in enumerate(lines) if line == ["2026-12-14: heron-1 hands to heron-2"])
    assert sorted(" ".join(lines[at + 1]).split(" · ")) == sorted(both)
    sheet = openpyxl.load_workbook(sample / "sheets/order.xlsx")["6 hand-overs"]
    rows = [[str(cell.value)[:10] for cell in row] for row in sheet.iter_rows(min_row=2)]
    assert sorted(rows) == sorted([one["day"], one["code"], one["giver"], one["taker"]] for one in expected)


def test_heads_of_their_own_hand_nothing_on(sample) -> None:
    one_after_the_other(sample)
    shared = sums(ordered(sample, "--look"), "pressings_needed")
    changed(sample, "puppets = 2", "puppets = 2\ninterchangeable = false")
    told = ordered(sample)
    assert told["hand_overs"] == []
    heron = [row for row in told["pieces"] if row["character"] == "heron"]
    assert {tuple(row["heads"]) for row in heron} == {("heron-1",), ("heron-2",)}
    for code in told["boards"]["heron-2"]:
        # Each head needs its own and its own spare.
        assert sum(row["pressings_needed"] for row in heron if row["code"] == code) == 2 * shared["heron", code]


STOCK = """counted = 2026-11-29

[[piece]]
character = "heron"
code = "REST"
there = 1
broke = 1

[[piece]]
character = "heron"
code = "SHUT"
puppet = "heron-1"
there = 2
fitted = 3
ordered = 0
"""


WORN = """
[[piece]]
character = "heron"
code = "OPEN1"
there = 2

[[piece]]
character = "heron"
code = "OPEN1"
there = 1
fitted = 38
ordered = 0
"""


def test_what_broke_is_made_in_addition_and_what_is_there_is_not(sample) -> None:
    first = ordered(sample)
    assert sums(first, "pressings_to_make")["heron", "REST"] == 3
    (sample / "stock.toml").write_text(STOCK, encoding="utf-8")
    told = ordered(sample)
    assert told["revision"] == "B"
    rows = {row["code"]: row for row in told["pieces"] if row["character"] == "heron"}
    shown = ("pressings_needed", "there", "on_the_way", "pressings_to_make")
    # Three were ordered: one is there, one broke, so one is on the way, and that nobody has written so is told.
    (message,) = (one for one in told["messages"] if one["kind"] == "reckoned on the way")
    assert message["what"].startswith("1 REST of heron: reckoned as on the way")
    assert message["file"].endswith("stock.toml")
    assert [rows["REST"][key] for key in shown] == [3, 1, 1, 1]
    assert [rows["SHUT"][key] for key in shown] == [3, 2, 0, 1]
    assert [rows["TUCK"][key] for key in shown] == [3, 0, 3, 0]
    # Two are left: one on the first heron's board, one a spare; the third is first needed by the second heron.
    assert rows["REST"]["needed_by"] == ["2026-12-07"]


def test_what_is_only_reckoned_stands_on_paper_and_in_every_row(sample) -> None:
    """Days that are over, pressings of which the count says nothing, and a spare that is nearly used up."""
    ordered(sample)
    (sample / "stock.toml").write_text(STOCK.replace("2026-11-29", "2027-11-29") + WORN, encoding="utf-8")
    done = run("order", sample)
    pages = pages_of(sample / "sheets/order.pdf")
    check_pages(pages)
    text = " ".join(text for line in lines_of(pages) for text in line)
    rows = (sample / "sheets/order.csv").read_text("utf-8-sig").splitlines()[1:]
    for said in (
        "heron-1: days over, not filmed, reckoned as shot the day after the count: 01-lamp-room/010",
        "reckoned as on the way, though the count does not say so: 1 REST of heron",
        "spares more than half used up, with the fittings left: OPEN1 of heron (2)",
    ):
        assert said in text
        assert all(said in row for row in rows)
    assert "with the fittings left: OPEN1 of heron (2); if that is too little for a spare" in done.err


def test_what_is_filmed_wears_nothing_more_once_it_is_counted(sample) -> None:
    changed(sample, "fittings_a_piece = 40", "fittings_a_piece = 5")
    before = ordered(sample, "--look")
    assert run("sheet", sample, "--shot", "010").code == ExitCode.DONE
    assert run("lock", sample, "010", "--upto", "192").code == ExitCode.DONE
    assert sums(ordered(sample, "--look"), "pressings_needed") == sums(before, "pressings_needed")
    rows = "".join(f'[[piece]]\ncharacter = "heron"\ncode = "{code}"\n' for code in before["boards"]["heron-1"])
    (sample / "stock.toml").write_text(f"counted = 2026-12-04\n{rows}", encoding="utf-8")
    after = sums(ordered(sample, "--look"), "pressings_needed")
    assert sum(after.values()) < sum(sums(before, "pressings_needed").values())


def test_a_take_that_is_thrown_away_wears(sample) -> None:
    changed(sample, "fittings_a_piece = 40", "fittings_a_piece = 5")
    before = sums(ordered(sample, "--look"), "pressings_needed")
    assert run("sheet", sample, "--shot", "010").code == ExitCode.DONE
    assert run("lock", sample, "010", "--upto", "192").code == ExitCode.DONE
    assert (
        run("refilm", sample, "010", "--from", "1", "--to", "192", "--reason", "the lamp fell over").code
        == ExitCode.DONE
    )
    after = sums(ordered(sample, "--look"), "pressings_needed")
    assert all(after[key] >= before[key] for key in before)
    assert sum(after.values()) > sum(before.values())


def test_faults_of_stock_and_heads_are_told_in_one_go(sample) -> None:
    changed(sample, "puppets = 2", 'puppets = 2\ninterchangeable = [["heron-1", "heron-2"], ["heron-2", "heron-9"]]')
    changed(sample, "spares = 1", 'spares = 1\npiece = [{ character = "gull", code = "REST" }]')
    (sample / "stock.toml").write_text(
        'counted = 2026-11-29\n[[piece]]\ncharacter = "heron"\ncode = "REST"\nthere = -1\n'
        '[[piece]]\ncharacter = "crab"\ncode = "GAPE"\n'
        '[[piece]]\ncharacter = "crab"\ncode = "REST"\npuppet = "crab-7"\n',
        encoding="utf-8",
    )
    with pytest.raises(InputError) as told:
        open_production(sample)
    text = str(told.value)
    for said in (
        "interchangeable 2: names heron-2, which is in a group already; leave it in one of them",
        "interchangeable 2: nobody has the puppet 'heron-9'; the puppets are heron-1, heron-2",
        "[shooting] [[piece]] 1 character: there is no character 'gull'; the characters are heron, crab",
        'stock.toml: [[piece]] 1 "REST" there: found -1; 0 or more is allowed',
        "stock.toml: [[piece]] 2 code: crab has no piece 'GAPE'; it has",
        "stock.toml: [[piece]] 3 puppet: crab has no puppet 'crab-7'; its puppets are crab-1",
    ):
        assert said in text, said


@pytest.mark.parametrize(
    ("was", "now"), [('"make": 3', '"make": 2'), ('"form": "lipsync order 1"', '"form": "x"'), ('"end": "A"\n}', "")]
)
def test_an_order_that_was_changed_by_hand_is_refused(sample, was: str, now: str) -> None:
    ordered(sample)
    path = sample / "orders/A.json"
    text = path.read_text(encoding="utf-8")
    assert was in text
    path.write_text(text.replace(was, now, 1), encoding="utf-8")
    done = run("order", sample)
    assert done.code == ExitCode.INPUT
    assert "A.json" in done.err
    assert "take it back from version control" in done.err


def test_an_order_that_is_missing_is_told(sample) -> None:
    ordered(sample)
    changed(sample, "spares = 1", "spares = 2")
    ordered(sample)
    (sample / "orders/A.json").unlink()
    done = run("order", sample)
    assert done.code == ExitCode.INPUT
    assert "A.json: is missing, and later orders are there" in done.err


def test_what_is_on_the_way_and_needed_sooner_is_told_on_screen_and_on_paper(sample) -> None:
    """The first heron begins a week sooner: what was ordered for its first day comes too late."""
    ordered(sample)
    changed(sample, "first = 2026-11-30", "first = 2026-11-23")
    done = run("order", sample)
    assert done.code == ExitCode.DONE
    assert "REST of heron is on the way for 2026-11-30 and needed by 2026-11-23; tell who makes it" in done.err
    said = "heron REST is on the way for 2026-11-30 and needed by 2026-11-23"
    assert said in (sample / "sheets/order.csv").read_text("utf-8-sig")
    assert said in " ".join(text for line in lines_of(pages_of(sample / "sheets/order.pdf")) for text in line)
    again = run("order", sample)
    assert "REST of heron is on the way for 2026-11-30" in again.err
    changed(sample, "first = 2026-11-23", "first = 2026-12-01")
    assert "is on the way for" not in run("order", sample).err


def test_what_is_used_up_is_named_and_its_piece_stays_on_the_page(sample) -> None:
    """A piece that no shot to come wears, of which none is left; and two of three that have no fitting left."""
    (sample / "stock.toml").write_text(
        "counted = 2026-12-04\n"
        '[[piece]]\ncharacter = "heron"\ncode = "OPEN3"\nthere = 0\nbroke = 2\n'
        '[[piece]]\ncharacter = "heron"\ncode = "REST"\nthere = 2\nfitted = 40\n'
        '[[piece]]\ncharacter = "heron"\ncode = "REST"\nthere = 1\nfitted = 39\n',
        encoding="utf-8",
    )
    told = ordered(sample)
    rows = {row["code"]: row for row in told["pieces"] if row["character"] == "heron"}
    assert [rows["OPEN3"][key] for key in ("times_fitted", "pressings_needed", "there", "worn_out")] == [0, 0, 0, 0]
    assert [rows["REST"][key] for key in ("there", "worn_out")] == [1, 2]
    (message,) = (one for one in told["messages"] if one["kind"] == "worn out")
    assert "2 REST of heron: counted as there, and put on so often that they are used up" in message["text"]
    pages = pages_of(sample / "sheets/order.pdf")
    check_pages(pages)
    lines = [" ".join(line) for line in lines_of(pages)]
    assert "Counted as there and used up, so not reckoned with: 2 REST of heron" in lines
    assert any(line.startswith("OPEN3 ") for line in lines)
    book = openpyxl.load_workbook(sample / "sheets/order.xlsx")
    assert "Counted as there and used up, so not reckoned with: 2 REST of heron" in [
        cell.value for cell in book.worksheets[0]["A"]
    ]
    # What an order holds of a piece does not grow by rows that say nothing: the kept order is as it was.
    kept = json.loads((sample / "orders/A.json").read_text(encoding="utf-8"))
    assert "OPEN3" not in [row["code"] for row in kept["pieces"]]


def of_both_heads() -> OrderedRow:
    return OrderedRow(
        character="heron",
        code="REST",
        heads=("heron-1", "heron-2"),
        needed=2,
        there=0,
        on_the_way=0,
        make=2,
        unneeded=0,
    )


def test_what_changed_says_whose_piece_where_heads_are_grouped_otherwise() -> None:
    both = of_both_heads()
    alone = [both.model_copy(update={"heads": (puppet,), "make": 0}) for puppet in both.heads]
    was = OrderState(film="Low Tide Post", dated=None, pieces=(both,))
    told = order_changes(was, was.model_copy(update={"pieces": tuple(alone)}), Words())
    assert [text.partition(":")[0] for text in told] == [
        "heron REST (heron-1)",
        "heron REST (heron-2)",
        "heron REST (heron-1, heron-2)",
    ]
    more = was.model_copy(update={"pieces": (both.model_copy(update={"needed": 3}),)})
    assert order_changes(was, more, Words())[0].startswith("heron REST: 3 needed, were 2")


def test_another_puppet_whose_head_takes_the_same_mouths_changes_no_piece() -> None:
    both = of_both_heads()
    was = OrderState(film="Low Tide Post", dated=None, pieces=(both,))
    three = {"heads": ("heron-1", "heron-2", "heron-3")}
    same = both.model_copy(update={**three, "on_the_way": 2, "make": 0})
    assert order_changes(was, was.model_copy(update={"pieces": (same,)}), Words()) == ()
    more = same.model_copy(update={"needed": 3, "make": 1})
    (told,) = order_changes(was, was.model_copy(update={"pieces": (more,)}), Words())
    assert told.startswith("heron REST: 3 needed, were 2")
