"""The curves that are decided from: tables, pages and pictures say the same, and what must hold of each curve."""

import csv
import io
import json
from dataclasses import replace
from itertools import pairwise

import pytest
from PIL import Image

from lipsync.app.decide.deciding import weigh_scene, worth_of, write_weighed, write_worth
from lipsync.errors import ExitCode, InputError
from lipsync.fit.fit_settings import FittingSettings, Prices, Work
from lipsync.fit.mouthset import load_mouth_set
from lipsync.paper.worth_page import WorthJob, worth_pages
from lipsync.production.values import shipped
from lipsync.workshop.piece_selection import ReducedSet
from tests.running import run
from tests.workshop.conftest import check_pages, lines_of, pages_of


def rows_in(path):
    with path.open(encoding="utf-8-sig", newline="") as file:
        return list(csv.DictReader(file))


def check_picture(path):
    """A picture of an upright A4 page at 200 dots to the inch, in greys, with something on it."""
    with Image.open(path) as picture:
        assert (picture.format, picture.mode) == ("PNG", "L")
        assert picture.size == pytest.approx((210 / 25.4 * 200, 297 / 25.4 * 200), abs=1)
        low, high = picture.getextrema()
        assert (low, high) == (0, 255)


@pytest.fixture(scope="module")
def weighed(heard_sample, tmp_path_factory):
    out = tmp_path_factory.mktemp("weigh")
    done = run("weigh", heard_sample, "01-lamp-room", "--out", out, "--json")
    assert (done.code, done.err) == (ExitCode.DONE, "")
    answer = json.loads(done.out)
    assert answer["files"] == [str(out / f"weigh-01-lamp-room.{kind}") for kind in ("pdf", "png", "csv")]
    return out, answer["rows"]


def test_less_work_never_looks_better(weighed) -> None:
    _, rows = weighed
    assert [row["price"] for row in rows] == sorted(row["price"] for row in rows)
    for cheap, dear in pairwise(rows):
        assert dear["fittings"] <= cheap["fittings"]
        if dear["fittings"] < cheap["fittings"]:
            assert dear["visual_cost"] + dear["other_cost"] > cheap["visual_cost"] + cheap["other_cost"]


def test_the_present_setting_is_marked_and_is_the_plan(weighed, tracks, production) -> None:
    _, rows = weighed
    (present,) = (row for row in rows if row["setting"] == "present")
    assert present["price"] == production.file.fitting.price.fitting
    here = [row for row in tracks if row["scene"] == "01-lamp-room"]
    assert present["fittings"] == sum(row["fitted"] == "1" for row in here)
    # 384 frames at 24 are 16 s; two seconds a day.
    assert present["days"] == 8.0
    assert present["fittings_a_second"] == round(present["fittings"] / 16, 2)
    # Three minutes a fitting, eight hours a day.
    for row in rows:
        assert row["days"] == pytest.approx(8 + (row["fittings"] - present["fittings"]) / 160, abs=0.006)


def test_table_page_and_picture_say_the_same(weighed) -> None:
    out, rows = weighed
    table = rows_in(out / "weigh-01-lamp-room.csv")
    assert [{key: str(value) for key, value in row.items()} for row in rows] == table
    pages = pages_of(out / "weigh-01-lamp-room.pdf")
    check_pages(pages)
    lines = lines_of(pages)
    for row in rows:
        line = [f"{row['price']:.2f}", str(row["fittings"]), f"{row['fittings_a_second']:.2f}"]
        assert sum(found[-6:-3] == line for found in lines) == 1
    marked = [line for line in lines if line[0] == "●"]
    assert [line[1] for line in marked] == [f"{row['price']:.2f}" for row in rows if row["setting"]]
    assert ["present setting"] in [[text for text in line if text == "present setting"] for line in lines]
    check_picture(out / "weigh-01-lamp-room.png")


def test_a_fitting_that_takes_no_time_has_no_days_to_save(production, heard) -> None:
    fitting = FittingSettings(work=Work(minutes_a_fitting=0.0))
    free = replace(production, file=production.file.model_copy(update={"fitting": fitting}))
    weighed, _ = weigh_scene(free, heard, "01-lamp-room")
    assert {row["days"] for row in weighed.records} == {8.0}


def test_prices_of_their_own_are_told(production, heard) -> None:
    own = production.mouth_sets["crab"].model_copy(update={"fitting": FittingSettings(price=Prices(fitting=0.5))})
    changed = replace(production, mouth_sets={**production.mouth_sets, "crab": own})
    _, said = weigh_scene(changed, heard, "01-lamp-room")
    (message,) = said.messages
    assert "prices of a fitting of their own (heron 0.14, crab 0.5)" in str(message)


def test_a_scene_with_nobody_in_it(sample) -> None:
    text = 'title = "The empty pier"\n\n[[shot]]\nid = "050"\nframes = 24\n'
    (sample / "scenes" / "03-pier.toml").write_text(text, encoding="utf-8")
    done = run("weigh", sample, "03-pier")
    assert (done.code, done.out) == (ExitCode.INPUT, "")
    assert done.err.endswith("03-pier.toml: has nobody in its shots, so there is nothing to weigh\n")


def test_a_scene_that_is_not_there(heard_sample) -> None:
    done = run("weigh", heard_sample, "attic")
    assert done.code == ExitCode.INPUT
    assert done.err.endswith("holds no scene 'attic'; it has 01-lamp-room, 02-post-office\n")


@pytest.fixture(scope="module")
def worth(heard_sample, tmp_path_factory):
    out = tmp_path_factory.mktemp("worth")
    done = run("worth", heard_sample, "heron", "--out", out)
    assert (done.code, done.err) == (ExitCode.DONE, "")
    assert done.out.splitlines()[-3:] == [str(out / f"worth-heron.{kind}") for kind in ("pdf", "png", "csv")]
    return out, rows_in(out / "worth-heron.csv")


def test_from_four_pieces_to_all(worth, production) -> None:
    _, rows = worth
    every = list(production.mouth_sets["heron"].by_code)
    assert [int(row["pieces"]) for row in rows] == list(range(4, len(every) + 1))
    for row in rows:
        codes = row["codes"].split()
        assert len(codes) == int(row["pieces"])
        assert codes == [code for code in every if code in codes], "in the order of the set, each once"
        # Lips closed, lip to teeth and rest are never given up: the sounds are in the dialogue.
        assert {"REST", "SHUT", "TUCK"} <= set(codes)
        assert row["not_seen"] == "0"


def test_one_more_piece_brings_what_is_said(worth) -> None:
    _, rows = worth
    for one, more in pairwise(rows):
        assert float(one["next_brings"]) == pytest.approx(float(one["loss"]) - float(more["loss"]), abs=0.011)
        assert float(more["loss"]) <= float(one["loss"])
    assert rows[-1]["next_brings"] == ""


def test_pieces_that_no_track_wears_are_named(worth, tracks, production) -> None:
    out, rows = worth
    worn = {row["piece"] for row in tracks if row["character"] == "heron"}
    never = [code for code in production.mouth_sets["heron"].by_code if code not in worn]
    assert rows[-1]["not_worn"].split() == never != []
    assert all(set(row["not_worn"].split()) <= set(row["codes"].split()) for row in rows)
    lines = [" ".join(line) for line in lines_of(pages_of(out / "worth-heron.pdf"))]
    for code in never:
        sets = ", ".join(row["pieces"] for row in rows if code in row["not_worn"].split())
        assert f"{code} is in the set of {sets} pieces, but no real track wears it there." in lines


def test_all_pieces_are_the_present_plan(worth, tracks) -> None:
    _, rows = worth
    own = [row for row in tracks if row["character"] == "heron"]
    assert int(rows[-1]["fittings"]) == sum(row["fitted"] == "1" for row in own)


def test_pages_of_the_sets_say_what_the_table_says(worth, production) -> None:
    out, rows = worth
    pages = pages_of(out / "worth-heron.pdf")
    check_pages(pages)
    lines = lines_of(pages)
    for row in rows:
        # Either is rounded from the exact loss: to 0.1 on the page, to 0.01 in the table.
        near = {f"{float(row['loss']) + step:.1f}" for step in (-0.005, 0.005)}
        assert sum(found[:1] == [row["pieces"]] and found[1:2] != [] and found[1] in near for found in lines) == 1
    last = lines_of(pages[-1:])
    for piece in production.mouth_sets["heron"].piece:
        assert sum(line[0] == piece.code for line in last) == 1
    assert [str(n) for n in range(4, 15)] in [line[2:] for line in last]
    check_picture(out / "worth-heron.png")


def test_two_hundred_pieces_take_pages_of_their_own() -> None:
    """Made-up sets: each has one piece more than the one before."""
    mouth_set = load_mouth_set(shipped("mouthsets") / "tideline.toml")
    pieces = tuple(mouth_set.piece[-1].model_copy(update={"code": f"WWW{n:03d}"}) for n in range(200))
    mouth_set = mouth_set.model_copy(update={"piece": pieces})
    codes = [piece.code for piece in pieces]
    sets = tuple(
        ReducedSet(n, tuple(codes[:n]), 1e5 / n, 1.0 if n < 200 else None, 2e5 / n, 9999, n) for n in range(4, 201)
    )
    pages = pages_of(worth_pages(WorthJob("Low Tide Post", "Zoë Wade", mouth_set, sets)))
    check_pages(pages)
    lines = lines_of(pages)
    counts = [int(text) for line in lines if line[:2] == ["code", "name"] for text in line[2:]]
    assert set(counts) == set(range(4, 201))
    # Blocks of 28 sets; each names every piece.
    assert sum(line[0] == codes[150] for line in lines) == -(-197 // 28)


def test_a_character_that_says_nothing(production, heard) -> None:
    with pytest.raises(InputError, match="there is no character 'gull'; the characters are heron, crab"):
        worth_of(production, heard, "gull")
    silent = replace(heard, lines=tuple(one for one in heard.lines if one.placed.line.character != "crab"))
    with pytest.raises(InputError, match=r"\[characters\] \[crab\]: says nothing in any shot"):
        worth_of(production, silent, "crab")


def test_the_same_question_has_the_same_answer_to_the_byte(worth, production, heard, tmp_path) -> None:
    out, _ = worth
    found, _ = worth_of(production, heard, "heron")
    for path in write_worth(production, found, tmp_path):
        assert path.read_bytes() == (out / path.name).read_bytes()


def test_a_table_of_numbers_is_plain_csv(weighed) -> None:
    out, _ = weighed
    text = (out / "weigh-01-lamp-room.csv").read_bytes().decode("utf-8")
    assert text.startswith("\ufeff"), "without it, usual spreadsheets take its letters for others"
    text = text[1:]
    heads = ["price", "fittings", "fittings_a_second", "visual_cost", "other_cost", "days", "setting"]
    assert next(csv.reader(io.StringIO(text))) == heads
    assert text.count("\r\n") == text.count("\n")


def test_minutes_of_its_own_are_what_the_page_says(production, heard, tmp_path) -> None:
    own = {
        key: mouth_set.model_copy(update={"fitting": FittingSettings(work=Work(minutes_a_fitting=30.0))})
        for key, mouth_set in production.mouth_sets.items()
    }
    weighed, said = weigh_scene(replace(production, mouth_sets=own), heard, "01-lamp-room")
    assert said.messages == ()
    pages = pages_of(write_weighed(production, weighed, tmp_path)[0])
    assert "30 minutes a fitting, 8 hours a day" in " ".join(text for line in lines_of(pages) for text in line)
    present = next(row for row in weighed.records if row["setting"])
    for row in weighed.records:
        days = present["days"] + (row["fittings"] - present["fittings"]) * 30 / 480
        assert row["days"] == pytest.approx(max(0.0, days), abs=0.006)


def test_prices_of_their_own_are_told_on_the_page(production, heard, tmp_path) -> None:
    own = production.mouth_sets["crab"].model_copy(update={"fitting": FittingSettings(price=Prices(fitting=0.5))})
    changed = replace(production, mouth_sets={**production.mouth_sets, "crab": own})
    weighed, _ = weigh_scene(changed, heard, "01-lamp-room")
    lines = lines_of(pages_of(write_weighed(changed, weighed, tmp_path)[0]))
    said = (
        "mouth sets have prices or minutes of a fitting of their own; the present setting shown is that of Zoë Wade"
    )
    assert said in " ".join(text for line in lines for text in line)


def test_what_is_worth_making_does_not_hang_on_what_is_filmed(worth, sample) -> None:
    for shot, frames in (("010", 192), ("020", 192)):
        assert run("sheet", sample, "--shot", shot).code == 0
        assert run("lock", sample, shot, "--upto", frames).code == 0
    assert run("worth", sample, "heron").code == 0
    assert (sample / "sheets/worth-heron.csv").read_bytes() == (worth[0] / "worth-heron.csv").read_bytes()


def test_a_scene_that_is_all_filmed_leaves_nothing_to_weigh(sample) -> None:
    for shot in ("010", "020"):
        assert run("sheet", sample, "--shot", shot).code == 0
        assert run("lock", sample, shot, "--upto", 192).code == 0
    assert run("weigh", sample, "01-lamp-room").code == 0
    said = ["Every price comes to the same: nothing of this scene is left to choose."]
    assert said in lines_of(pages_of(sample / "sheets/weigh-01-lamp-room.pdf"))
    assert run("weigh", sample, "02-post-office").code == 0
    assert said not in lines_of(pages_of(sample / "sheets/weigh-02-post-office.pdf"))
