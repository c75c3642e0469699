"""Parts that are listed by hand, from the scene's file to rows in the can, the order and the board."""

import csv
import json

import pytest

from lipsync.app.hear.hearing import hear
from lipsync.app.order.laying_out import BoardsAsked, write_boards
from lipsync.app.order.order_files import write_order
from lipsync.app.order.ordering import order_pieces
from lipsync.app.plan.planning import Plans, plan
from lipsync.app.print.printing import write_sheets
from lipsync.errors import ExitCode, InputError
from lipsync.floor.locking import lock, refilm
from lipsync.production.loading import open_production
from lipsync.report import Report
from tests.running import run
from tests.workshop.conftest import lines_of, pages_of


def listed(sample, frames):
    path = sample / "scenes/01-lamp-room.toml"
    text = path.read_text(encoding="utf-8").partition("\n[[shot.part]]")[0]
    part = '\n[[shot.part]]\nkind = "brows"\ncharacter = "crab"\ncode = "BRUP"\nname = "brows raised"\nframes = '
    # The last shot of the file is 020.
    path.write_text(f"{text}{part}{frames}\n", encoding="utf-8")


def test_a_part_goes_from_the_file_to_paper_and_to_the_workshop(sample) -> None:
    listed(sample, [30, 60])
    assert run("sheet", sample, "--shot", "020").code == ExitCode.DONE
    # What is filmed stays as it was printed, whatever is listed afterwards.
    assert run("lock", sample, "020", "--upto", "40").code == ExitCode.DONE
    listed(sample, [50, 60])
    compared = json.loads(run("compare", sample, "020", "--json").out)
    assert [(one["kind"], one["first"], one["last"]) for one in compared["changes"] if one["kind"] == "part"] == [
        ("part", 41, 49)
    ]
    assert run("sheet", sample, "--shot", "020").code == ExitCode.DONE
    lines = lines_of(pages_of(sample / "sheets/01-lamp-room/020.pdf"))
    at = [line[0] for line in lines if "BRUP" in line]
    assert at == ["30", "50"]
    rows = json.loads(run("order", sample, "--look", "--json").out)
    assert {row["code"]: row["times_fitted"] for row in rows["pieces"] if row["code"] == "BRUP"} == {"BRUP": 1}
    assert "BRUP" in rows["boards"]["crab-1"]
    with (sample / "sheets/order.csv").open(encoding="utf-8-sig") as file:
        (row,) = (row for row in csv.DictReader(file) if row["code"] == "BRUP")
    assert (row["name"], row["pressings_needed"]) == ("brows raised", "2")  # one at once, and a spare
    for use, times in (("drawers", 1), ("backs", 2)):
        assert run("labels", sample, "--for", use, "--character", "crab").code == ExitCode.DONE
        texts = [text for line in lines_of(pages_of(sample / f"sheets/labels-{use}-crab.pdf")) for text in line]
        assert (texts.count("BRUP"), "brows raised" in texts) == (times, True), use
    boards = json.loads(run("boards", sample, "--puppet", "crab-1", "--scene", "01-lamp-room", "--json").out)
    assert [piece for piece in boards["pieces"] if piece["code"] == "BRUP"] == [
        {"puppet": "crab-1", "scene": "01-lamp-room", "code": "BRUP", "count": 1, "times_fitted": 1}
    ]


def test_parts_are_labelled_and_laid_out_by_name_and_a_row_is_put_on_once(sample, tmp_path) -> None:
    path = sample / "scenes/01-lamp-room.toml"
    listed(sample, [30, 60])
    again = '\n[[shot.part]]\nkind = "brows"\ncharacter = "crab"\ncode = "BRUP"\nframes = [61, 80]\n'
    lids = '\n[[shot.part]]\nkind = "lids"\ncharacter = "crab"\ncode = "ALID"\nname = "lids half"\nframes = [1, 9]\n'
    path.write_text(path.read_text(encoding="utf-8") + again + lids, encoding="utf-8")
    rows = json.loads(run("order", sample, "--look", "--json").out)
    # By hand: two rows of BRUP, though the one begins where the other ends; parts stand in the order of their codes.
    parts = [(row["code"], row["times_fitted"]) for row in rows["pieces"] if row["code"] in ("BRUP", "ALID")]
    assert parts == [("ALID", 1), ("BRUP", 2)]
    backs = json.loads(run("labels", sample, "--for", "backs", "--out", tmp_path, "--json").out)
    assert backs["labels"] == sum(row["pressings_needed"] for row in rows["pieces"])
    labels = [word for page in pages_of(tmp_path / "labels-backs.pdf") for line in lines_of([page]) for word in line]
    assert (labels.count("BRUP"), labels.count("ALID")) == (2, 2)  # one at once, and a spare
    assert run("boards", sample, "--puppet", "crab-1", "--scene", "01-lamp-room", "--out", tmp_path).code == 0
    said = [" ".join(line) for line in lines_of(pages_of(tmp_path / "boards-crab-1-01-lamp-room.pdf"))]
    assert any(line.startswith("shots 020 ") for line in said), said
    assert all(any(name in line for line in said) for name in ("brows raised", "lids half")), said


OF_CLAY = """
[[shooting.piece]]
character = "crab"
code = "{}"
material = "clay"
fittings = 1

[making]
currency = "EUR"
[making.clay]
minutes_a_pressing = 20
[making.hard]
minutes_a_pressing = 6
"""


def test_a_part_may_be_of_another_material_and_a_take_that_is_thrown_away_wears_it(sample, tmp_path) -> None:
    """By hand: one is used up by each of its two rows, and there is a spare; the crab's mouths are hard."""
    listed(sample, [30, 60])
    path, main = sample / "scenes/01-lamp-room.toml", sample / "production.toml"
    again = '\n[[shot.part]]\nkind = "brows"\ncharacter = "crab"\ncode = "BRUP"\nframes = [61, 80]\n'
    path.write_text(path.read_text(encoding="utf-8") + again, encoding="utf-8")
    before = main.read_text(encoding="utf-8")
    main.write_text(before + OF_CLAY.format("BRUP"), encoding="utf-8")
    production = open_production(sample)
    plans = plan(production, hear(production))
    made, _ = order_pieces(production, plans.tracked, look=True)
    rows = {row["code"]: row for row in made.records if row["character"] == "crab"}
    keys = ("used_up", "pressings_needed", "minutes")
    assert [rows["BRUP"][key] for key in keys] == [1, 3, 3 * 20]
    assert [rows["OPEN"][key] for key in keys] == [0, 2, 2 * 6]
    write_order(production, made, tmp_path)
    lines = [" ".join(line) for line in lines_of(pages_of(tmp_path / "order.pdf"))]
    assert "Clay, used up and followed by another: BRUP" in lines
    board = next(
        b for b in write_boards(production, plans.tracked, BoardsAsked(puppet="crab-1"), out=tmp_path).boards
    )
    assert {piece.code: piece.count for piece in board.pieces}["BRUP"] == 2
    # A take of both rows is thrown away: each is put on once more.
    write_sheets(production, Plans(tuple(one for one in plans.shots if one.shot.id == "020"), plans.asked, Report()))
    lock(production, "020", (1, 80))
    refilm(production, "020", (1, 80), "the lamp fell over")
    made, _ = order_pieces(production, plans.tracked, look=True)
    rows = {row["code"]: row for row in made.records if row["character"] == "crab"}
    assert [rows["BRUP"][key] for key in ("times_fitted", *keys)] == [2, 3, 5, 5 * 20]
    main.write_text(before + OF_CLAY.format("OPEN"), encoding="utf-8")
    with pytest.raises(
        InputError, match="OPEN is a mouth of Driftwood, hard like all of them; only replacement parts"
    ):
        open_production(sample)
