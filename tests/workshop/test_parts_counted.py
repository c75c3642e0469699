"""Parts that are listed by hand, from the scene's file to rows in the can, the order and the board."""

import csv
import json

from lipsync.errors import ExitCode
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
