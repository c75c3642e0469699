"""Sheets of stock counted at the shelf: taken into stock.toml, all else of it kept, every fault told by its row."""

from __future__ import annotations

import datetime
import random
import tomllib
from pathlib import Path

import openpyxl
import pytest

from lipsync.errors import ExitCode, InputError
from lipsync.production.loading import open_production
from lipsync.production.production_text import OtherwiseWrittenError
from lipsync.production.stock_text import StockEntry, with_stock
from tests.running import run

STOCK = """# counted by Ada
counted = 2026-12-01   # Tuesday

# the first heron's box
[[piece]]
code = "SHUT"   # drawer 2
character = "heron"
puppet = "heron-1"
there = 2
fitted = 3

[[piece]]
character = "heron"
code = "TUCK"
there = 1
"""

SHEET = """shelf count;;;;;
Who;Piece;Box;There is;Broken;On order
Zo\u00eb Wade;REST;;2;1;
heron;SHUT;heron-1;3;;0
;OPEN;crab-1;;2;
"""


def test_a_sheet_is_taken_in_and_all_else_stays(sample: Path) -> None:
    (sample / "stock.toml").write_text(STOCK, encoding="utf-8")
    shelf = sample / "shelf.csv"
    shelf.write_text(SHEET, encoding="utf-8")
    looked = run("stock", sample, shelf, "--counted", "2026-12-05", "--dry-run")
    assert looked.code == ExitCode.DONE
    assert (sample / "stock.toml").read_text(encoding="utf-8") == STOCK
    done = run("stock", sample, shelf, "--counted", "2026-12-05", "--yes")
    assert done.code == ExitCode.DONE
    assert "not counted again: heron TUCK; how often these were put on since 2026-12-01" in done.err
    expected = STOCK.replace("counted = 2026-12-01 ", "counted = 2026-12-05 ").replace("there = 2", "there = 3")
    expected = expected.replace("fitted = 3\n", "fitted = 3\nordered = 0\n")
    expected += '\n[[piece]]\ncharacter = "heron"\ncode = "REST"\nthere = 2\nbroke = 1\n'
    expected += '\n[[piece]]\ncharacter = "crab"\ncode = "OPEN"\npuppet = "crab-1"\nbroke = 2\n'
    assert (sample / "stock.toml").read_text(encoding="utf-8") == expected
    again = run("stock", sample, shelf, "--counted", "2026-12-05", "--yes")
    assert (again.code, again.out) == (ExitCode.DONE, "")
    earlier = run("stock", sample, shelf, "--counted", "2026-12-04", "--yes")
    assert "counted on 2026-12-04, but stock.toml was on 2026-12-05; take a later count" in earlier.err
    assert earlier.code == ExitCode.INPUT


def test_a_workbook_begins_a_stock(sample: Path) -> None:
    book = openpyxl.Workbook()
    for row in (["piece", "puppet", "there", "fitted"], ["REST", "heron-2", 4, 7.0], [None, None, None, None]):
        book.active.append(row)
    book.save(sample / "shelf.xlsx")
    assert run("stock", sample, sample / "shelf.xlsx", "--counted", "2026-12-05", "--yes").code == ExitCode.DONE
    (row,) = open_production(sample).stock.piece
    assert (row.character, row.code, row.puppet, row.there, row.fitted) == ("heron", "REST", "heron-2", 4, 7)


def test_every_fault_of_every_row_is_told(sample: Path) -> None:
    rows = [
        *("who,piece,puppet,there,broke,fitted", "heron,GAPE,,-1,x,", "gull,REST,,1,,", "heron,REST,,2,,"),
        *(
            "heron,REST,,4,,",
            "heron,LIFT,heron-9,1,,",
            ",REST,,1,,",
            "heron,,,1,,",
            "heron,SHUT,,,,",
            "crab,OPEN,,1.5,,",
        ),
    ]
    shelf = sample / "shelf.csv"
    shelf.write_text("\n".join(rows), encoding="utf-8")
    done = run("stock", sample, shelf, "--yes")
    assert done.code == ExitCode.INPUT
    for said in (
        "row 2 there: found -1; 0 to 9999 are allowed",
        "row 2 broke: found 'x'; write a whole number",
        "row 2 code: heron has no piece 'GAPE'; it has REST, SHUT, TUCK, ",  # in the order of its set
        "row 3 character: there is no character 'gull'; the characters are heron, crab",
        "row 5: counts what row 4 does; make one of them, or say under fitted how they differ",
        "row 6 puppet: heron has no puppet 'heron-9'; its puppets are heron-1, heron-2",
        "row 7 character: is missing; write whose piece it is",
        "row 8 piece: is missing; write its code",
        "row 9: says no number; write how many there are, or take the row out",
        "row 10 there: found '1.5'; write a whole number",
    ):
        assert f"shelf.csv: {said}" in done.err, said
    assert not (sample / "stock.toml").exists()


def test_a_sheet_without_headings_is_refused(sample: Path) -> None:
    (sample / "shelf.csv").write_text("heron,REST,2\n", encoding="utf-8")
    done = run("stock", sample, sample / "shelf.csv", "--yes")
    assert "has no row of headings; write above it: character, piece" in done.err


def test_an_order_of_ours_is_no_count(sample: Path) -> None:
    assert run("order", sample).code == ExitCode.DONE
    done = run("stock", sample, sample / "sheets/order.csv", "--yes")
    assert done.code == ExitCode.INPUT
    assert "is an order of this program, not a count; give the sheet that was filled in at the shelf" in done.err
    assert not (sample / "stock.toml").exists()


def test_any_stock_says_what_it_shall_and_keeps_its_remarks() -> None:
    """300 random files and counts, against Python's own TOML reader."""
    chance = random.Random(20)
    for _ in range(300):
        rows = chance.randint(0, 4)
        text = f"counted = 2026-12-0{chance.randint(1, 9)}{chance.choice(['', '  # a # b'])}\n"
        for at in range(rows):
            said = [f'code = "P{at}"', 'character = "heron"', "there = 3  # shelf", "broke = 1"]
            chance.shuffle(said)
            said = said[: chance.randint(2, 4)]
            text += f"\n# of {at}\n[[piece]]{chance.choice(['', ' # box'])}\n" + "\n".join(said) + "\n"
        text = text.rstrip("\n") if chance.random() < 0.3 else text
        text = text.replace("\n", "\r\n") if chance.random() < 0.3 else text
        entries = [
            StockEntry(chance.choice([None, *range(rows)]), {"there": chance.randint(0, 5), "fitted": 7})
            for _ in range(2)
        ]
        new = with_stock(text, datetime.date(2026, 12, 24), entries)
        wanted = tomllib.loads(text.replace("\r\n", "\n"))
        wanted["counted"] = datetime.date(2026, 12, 24)
        for entry in entries:
            if entry.at is None:
                wanted.setdefault("piece", []).append(dict(entry.says))
            else:
                wanted["piece"][entry.at].update(entry.says)
        assert tomllib.loads(new.replace("\r\n", "\n")) == wanted
        assert new.count("#") == text.count("#")


def test_a_stock_in_rows_of_its_own_is_refused() -> None:
    text = 'counted = 2026-12-01\npiece = [{ character = "heron", code = "REST" }]\n'
    with pytest.raises(OtherwiseWrittenError):
        with_stock(text, datetime.date(2026, 12, 2), [StockEntry(0, {"there": 1})])


def test_several_rows_of_a_piece_are_told_apart_by_their_wear(sample: Path) -> None:
    rows = "".join(f'[[piece]]\ncharacter = "heron"\ncode = "REST"\nthere = 1\nfitted = {n}\n' for n in (0, 5))
    (sample / "stock.toml").write_text(f"counted = 2026-12-01\n{rows}", encoding="utf-8")
    shelf = sample / "shelf.csv"
    shelf.write_text("who,piece,there,fitted\nheron,REST,3,5\n", encoding="utf-8")
    assert run("stock", sample, shelf, "--counted", "2026-12-02", "--yes").code == ExitCode.DONE
    assert [row.there for row in open_production(sample).stock.piece] == [1, 3]
    shelf.write_text("who,piece,there,fitted\nheron,REST,3,6\n", encoding="utf-8")
    assert "stock.toml has 2 rows of it; say under fitted which" in run("stock", sample, shelf, "--yes").err


def test_input_errors_name_the_file(sample: Path) -> None:
    (sample / "stock.toml").write_text("counted = 2026-12-01\npiece = 3\n", encoding="utf-8")
    with pytest.raises(InputError, match=r"stock\.toml"):
        open_production(sample)
