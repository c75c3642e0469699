"""The order for the workshop: counted a second time from the tracks' CSV, read back as CSV, workbook and pages."""

import csv
import io
import textwrap
import tomllib
import zipfile
from collections import Counter, defaultdict
from dataclasses import replace
from datetime import date, timedelta

import openpyxl
import pytest

from lipsync.app.order.order_files import write_order
from lipsync.app.order.ordering import order_pieces
from lipsync.errors import ExitCode, InputError
from lipsync.fit.mouthset import load_mouth_set
from lipsync.paper.order_job import OrderCharacter, OrderJob
from lipsync.paper.order_page import order_pages
from lipsync.production.loading import open_production
from lipsync.production.values import shipped
from lipsync.workshop import handing_on
from lipsync.workshop.order_rows import Board, PressingRow
from lipsync.workshop.shooting import Shoot, ShootingPlan
from tests.running import run
from tests.workshop.conftest import check_pages, lines_of, pages_of

NUMBERS = ("frames_seen", "times_fitted", "at_once", "used_up", "spares", "pressings_to_make")
SHOWN = (
    *("frames_seen", "times_fitted", "boards", "at_once", "changing_over", "used_up", "spares", "pressings_needed"),
    *("there", "on_the_way", "needed_no_more", "pressings_to_make"),
)


@pytest.fixture(scope="module")
def ordered(heard_sample, tmp_path_factory):
    """The files of the sample's order, as the command writes them."""
    out = tmp_path_factory.mktemp("order")
    done = run("order", heard_sample, "--out", out, "--look")
    assert (done.code, done.err) == (ExitCode.DONE, "")
    assert done.out.splitlines()[-3:] == [str(out / f"order.{kind}") for kind in ("pdf", "csv", "xlsx")]
    return out


@pytest.fixture(scope="module")
def rows(ordered):
    """Its CSV, row by row."""
    with (ordered / "order.csv").open(encoding="utf-8-sig", newline="") as file:
        return list(csv.DictReader(file))


def counted(tracks, plan):
    """Count the order from tracks' CSV rows and the plan's own table, day by day, by no means of the program's."""
    frames, fitted, per_scene = Counter(), Counter(), defaultdict(Counter)
    for row in tracks:
        if row["piece"]:
            frames[row["character"], row["piece"]] += 1
        if row["fitted"] == "1":
            fitted[row["character"], row["piece"]] += 1
            per_scene[row["scene"], row["character"]][row["piece"]] += 1
    boards, at_once = defaultdict(set), Counter()
    days = sorted({s["first"] + timedelta(n) for s in plan for n in range((s["last"] - s["first"]).days + 1)})
    for day in days:
        today = Counter()
        for shoot in plan:
            character = shoot["puppet"].rpartition("-")[0]
            if shoot["first"] <= day <= shoot["last"]:
                for code in per_scene[shoot["scene"], character]:
                    today[character, code] += 1
                    boards[character, code].add(shoot["puppet"])
        at_once |= today
    return frames, fitted, boards, at_once


def test_the_order_is_what_a_second_count_says(rows, tracks, heard_sample) -> None:
    shooting = tomllib.loads((heard_sample / "production.toml").read_text(encoding="utf-8"))["shooting"]
    frames, fitted, boards, at_once = counted(tracks, shooting["shoot"])
    assert max(fitted.values()) <= shooting["fittings_a_piece"], "nothing is used up in this plan"
    expected = {
        key: [frames[key], fitted[key], at_once[key], 0, shooting["spares"], at_once[key] + shooting["spares"]]
        for key in frames
    }
    assert {(row["character"], row["code"]): [int(row[name]) for name in NUMBERS] for row in rows} == expected
    assert {(row["character"], row["code"]): set(row["boards"].split()) for row in rows} == dict(boards)
    # Each piece once, and every frame on camera is counted.
    assert len(rows) == len(expected)
    on_camera = Counter(row["character"] for row in tracks if row["piece"])
    seen = Counter()
    for row in rows:
        seen[row["character"]] += int(row["frames_seen"])
    assert seen == on_camera


def test_pages_say_what_the_table_says(rows, ordered) -> None:
    pages = pages_of(ordered / "order.pdf")
    check_pages(pages)
    lines = lines_of(pages)
    codes = {row["code"] for row in rows}
    printed = [line for line in lines if line[0] in codes and len(line) > 2]
    assert len(printed) == len(rows)
    for line, row in zip(printed, rows, strict=True):
        numbers = [len(row[name].split()) if name == "boards" else int(row[name]) for name in SHOWN]
        assert line == [row["code"], *map(str, numbers)]
        assert [row["name"]] in lines
    texts = [text for line in lines for text in line]
    assert "heron-2 shoots 02-post-office from 2026-12-07 to 2026-12-18" in texts
    said = " ".join(texts)
    for caution in ("maker's safety data sheet", "local rules", "trained people", "gloves", "Blades"):
        assert caution in said


def test_a_piece_with_a_wear_of_its_own_is_named(sample) -> None:
    path, own = sample / "production.toml", '[[shooting.piece]]\ncharacter = "heron"\ncode = "OPEN1"\nfittings = 5\n'
    path.write_text(path.read_text("utf-8") + own, "utf-8")
    assert run("order", sample, "--look").code == ExitCode.DONE
    texts = [text for line in lines_of(pages_of(sample / "sheets/order.pdf")) for text in line]
    at = texts.index("Clay: each pressing is used up after 40 fittings, and another follows on.")
    assert texts[at + 1] == "OPEN1: used up after 5 fittings."
    assert sum("used up after 5" in text for text in texts) == 1


def test_boards_name_every_piece_once(rows, ordered) -> None:
    lines = lines_of(pages_of(ordered / "order.pdf"))
    for puppet in ("heron-1", "heron-2", "crab-1"):
        expected = [row["code"] for row in rows if puppet in row["boards"].split()]
        at = next(n for n, line in enumerate(lines) if line[0] == f"{puppet}: {len(expected)} pieces on its board")
        assert " ".join(lines[at + 1]).split(" · ") == expected


def test_the_workbook_says_what_the_table_says(rows, ordered) -> None:
    values = openpyxl.load_workbook(ordered / "order.xlsx", data_only=True)
    formulas = openpyxl.load_workbook(ordered / "order.xlsx")
    assert values.sheetnames == [
        "1 read first",
        "2 order for the workshop",
        "3 boards",
        "4 shooting plan",
        "5 by day",
        "6 hand-overs",
        "7 Before you cast, cut and fit",
    ]
    sheet, below = values.worksheets[1], formulas.worksheets[1]
    found = [[cell.value for cell in row] for row in sheet.iter_rows(min_row=2)]
    pieces = [row for row in found if row[1] != "total"]
    names = {"heron": "Zoë Wade", "crab": "Mr Clamp"}
    assert [(row[0], row[1], row[2]) for row in pieces] == [
        (names[r["character"]], r["code"], r["name"]) for r in rows
    ]
    for row, said in zip(pieces, rows, strict=True):
        assert row[3:5] + row[6:15] == [int(said[name]) for name in SHOWN if name != "boards"]
        assert row[15:17] == [said["boards"], said["needed_by"]]
    # The formulas come to what is written beside them.
    first = 2
    for number, row in enumerate(found, start=2):
        if row[1] == "total":
            for column, letter in ((at, "ABCDEFGHIJKLMNO"[at]) for at in range(3, 15) if at != 5):
                assert below.cell(number, column + 1).value == f"=SUM({letter}{first}:{letter}{number - 1})"
                assert row[column] == sum(sheet.cell(n, column + 1).value for n in range(first, number))
            first = number + 1
        else:
            assert below.cell(number, 11).value == f"=G{number}+H{number}+I{number}+J{number}"
            assert row[10] == row[6] + row[7] + row[8] + row[9]
            assert row[12] + row[11] + row[14] - row[13] == row[10], "there and made is what is needed, or too much"
    assert [[cell.value for cell in row][:2] for row in values.worksheets[3].iter_rows(min_row=2, max_row=2)] == [
        ["heron-1", "01-lamp-room"]
    ]


def test_the_workbook_shows_and_prints_all_its_texts(ordered) -> None:
    """What was seen in a spreadsheet program once: heads over the first row, cautions cut, two pages side by side."""
    book = openpyxl.load_workbook(ordered / "order.xlsx")
    for sheet in book:
        # One page wide, which is the default of the form and so not said, and as many high as it takes.
        assert (sheet.page_setup.fitToWidth, sheet.page_setup.fitToHeight) == (None, 0)
        assert sheet.page_setup.orientation == "landscape"
        assert sheet.sheet_properties.pageSetUpPr.fitToPage
        assert sheet.print_title_rows == "$1:$1"
        for row in sheet.iter_rows():
            high_pt = sheet.row_dimensions[row[0].row].height or 15  # the form's own height is not said
            for cell in row:
                if not isinstance(cell.value, str) or cell.data_type == "f":
                    continue
                wide = sheet.column_dimensions[cell.column_letter].width
                # One word is never broken, and lines of 12.75 points and more (11 points, Calibri) are all shown.
                assert max(len(word) for word in cell.value.split() or [""]) < wide
                lines = len(textwrap.wrap(cell.value, int(wide) - 2))
                assert high_pt >= 12.75 * lines, cell.value
                assert lines == 1 or cell.alignment.wrap_text


def test_the_workbook_has_no_day_of_its_own(production, tracked, ordered, tmp_path) -> None:
    made, _ = order_pieces(production, tracked, look=True)
    again = write_order(production, made, tmp_path)
    for path in again:
        assert path.read_bytes() == (ordered / path.name).read_bytes()
    with zipfile.ZipFile(ordered / "order.xlsx") as book:
        assert {info.date_time for info in book.infolist()} == {(1980, 1, 1, 0, 0, 0)}
        core = book.read("docProps/core.xml").decode()
    assert core.count("2000-01-01T00:00:00Z") == 2


def test_names_that_begin_like_formulas_stay_text(production, tracked, tmp_path) -> None:
    characters = {
        key: character.model_copy(update={"name": "=1+2"}) for key, character in production.file.characters.items()
    }
    changed = replace(production, file=production.file.model_copy(update={"characters": characters}))
    made, _ = order_pieces(changed, tracked, look=True)
    write_order(changed, made, tmp_path)
    cell = openpyxl.load_workbook(tmp_path / "order.xlsx").worksheets[1]["A2"]
    assert (cell.value, cell.data_type) == ("=1+2", "s")


def with_plan(production, plan: ShootingPlan):
    return replace(production, file=production.file.model_copy(update={"shooting": plan}))


def test_without_a_plan_every_puppet_shoots_everything_at_once(production, tracked) -> None:
    made, said = order_pieces(with_plan(production, ShootingPlan(spares=2, fittings_a_piece=5)), tracked, look=True)
    (message,) = said.messages
    assert "no [[shooting.shoot]] says which puppet shoots which scene" in str(message)
    for row in made.order.rows:
        puppets = {"heron": 2, "crab": 1}[row.character]
        # Clay wears on each puppet's own board: a pressing for each 5 fittings begun. Hard pieces do not.
        on_one_board = max(1, -(-row.times_fitted // 5)) if row.character == "heron" else 1
        assert (row.boards, row.at_once, row.spares) == (puppets, puppets, 2)
        assert row.pressings == puppets * on_one_board + 2


def test_a_search_for_the_fewest_that_is_to_end_soon_says_what_it_left_open(production, tracked, monkeypatch) -> None:
    monkeypatch.setattr(handing_on, "_SOON", (0, 0))
    days = [date(2026, 12, 1), date(2026, 12, 8), date(2026, 12, 15)]
    where = {"scene": "01-lamp-room"}
    again = tuple(Shoot(puppet="heron-1", first=day, last=day, **where) for day in days)
    other = tuple(Shoot(puppet="heron-2", first=day + timedelta(3), last=day + timedelta(3), **where) for day in days)
    told = []
    for fewest in (True, False):
        plan = ShootingPlan(shoot=again + other, fittings_a_piece=3, fewest=fewest)
        made, said = order_pieces(with_plan(production, plan), tracked, look=True)
        told.append((made, [one for one in said.messages if one.kind == "perhaps one too many"]))
    (exact, nothing), (soon, messages) = told
    assert nothing == []
    assert messages
    assert "take fewest = false out of [shooting]" in str(messages[0])
    left_open = [f"{row.character} {row.code}" for row in soon.order.rows if not row.exact]
    assert [one.partition(":")[0] for one in soon.alerts] == left_open
    assert len(messages) == len(left_open)
    assert exact.alerts == ()
    assert all(more.to_make >= row.to_make for more, row in zip(soon.order.rows, exact.order.rows, strict=True))


def test_what_no_puppet_is_to_shoot_is_told_everywhere(production, tracked, tmp_path) -> None:
    first, last = production.file.shooting.shoot[0].first, production.file.shooting.shoot[0].last
    plan = ShootingPlan(
        shoot=(
            Shoot(puppet="heron-1", scene="01-lamp-room", shots=("010",), first=first, last=last),
            Shoot(puppet="crab-1", scene="01-lamp-room", first=first, last=last),
        )
    )
    changed = with_plan(production, plan)
    made, said = order_pieces(changed, tracked, look=True)
    assert {text.partition(": [shooting]: ")[2] for text in map(str, said.messages)} == {
        "no puppet of heron is to shoot shot 020 of 01-lamp-room; nothing is made for it",
        "no puppet of crab is to shoot shot 030 of 02-post-office; nothing is made for it",
        "no puppet of crab is to shoot shot 040 of 02-post-office; nothing is made for it",
        "no puppet of heron is to shoot shot 040 of 02-post-office; nothing is made for it",
    }
    assert len(said.messages) == 4
    write_order(changed, made, tmp_path)
    pages = pages_of(tmp_path / "order.pdf")
    check_pages(pages)
    texts = [text for line in lines_of(pages) for text in line]
    assert (
        "In no row of the shooting plan, so nothing is made for it: 02-post-office 030, 02-post-office 040" in texts
    )


def test_a_puppet_sent_to_a_scene_without_its_character_is_told(production, tracked) -> None:
    shoots = production.file.shooting.shoot
    alone = replace(tracked, shots=tuple(one for one in tracked.shots if one.shot.id == "010"))
    scenes = tuple(
        replace(scene, shots=tuple(shot for shot in scene.shots if shot.id == "010")) for scene in production.scenes
    )
    _, said = order_pieces(replace(production, scenes=scenes), alone, look=True)
    assert [text.partition("[shooting] ")[2] for text in map(str, said.messages)] == [
        f"[[shoot]] {row}: {shoot.character} is in no shot of {shoot.scene}"
        for row, shoot in enumerate(shoots, start=1)
        if (shoot.character, shoot.scene) != ("heron", "01-lamp-room")
    ]


SHOOT = '\n[[shooting.shoot]]\npuppet = "{}"\nscene = "{}"\nfirst = {}\nlast = {}\n'


@pytest.mark.parametrize(
    ("added", "message"),
    [
        (
            SHOOT.format("heron-3", "01-lamp-room", "2027-01-04", "2027-01-05"),
            r"\[\[shoot\]\] 5 puppet: nobody has the puppet 'heron-3'; the puppets are heron-1 to heron-2",
        ),
        (
            SHOOT.format("heron-9" + "9" * 60, "01-lamp-room", "2027-01-04", "2027-01-05"),
            r"\[shooting\] \[\[shoot\]\] 5 puppet: found 'heron-9.*write at most 50 characters",
        ),
        (
            SHOOT.format("crab-1", "01-lamp-room", "2026-12-18", "2026-12-19"),
            r"\[shooting\] \[\[shoot\]\] 4 and 5: puppet 'crab-1' shoots '02-post-office' and '01-lamp-room' on the "
            "same day, 2026-12-18; give one of them to another puppet or to other days",
        ),
        (
            SHOOT.format("crab-1", "attic", "2027-01-04", "2027-01-05"),
            r"\[\[shoot\]\] 5 scene: there is no scene 'attic'; the scenes are 01-lamp-room, 02-post-office",
        ),
        (
            SHOOT.format("crab-1", "01-lamp-room", "2027-01-04", "2027-01-05") + 'shots = ["040"]\n',
            r"\[\[shoot\]\] 5 shots: scene 01-lamp-room has no shot '040'; it has 010, 020",
        ),
        (
            SHOOT.format("crab-1", "01-lamp-room", "2027-01-05", "2027-01-04"),
            r"\[\[shoot\]\] 5 last: 2027-01-04 is before first, 2027-01-05; give the days in order",
        ),
        (
            SHOOT.format("crab-1", "01-lamp-room", '"2027-01-05"', "2027-01-06"),
            r"\[\[shoot\]\] 5 first: found '2027-01-05'; write a date, such as 2026-11-24, without quotes",
        ),
        (
            '\n[[shooting.shoot]]\npuppet = "crab-1"\nscene = "01-lamp-room"\nfirst = 2027-01-05\n',
            r"\[\[shoot\]\] 5 last: is missing; add it",
        ),
        (
            '\n[[shooting.shoot]]\npupet = "crab-1"\n',
            r"\[\[shoot\]\] 5 pupet: is not known here; check its spelling or take it out",
        ),
    ],
)
def test_a_plan_that_cannot_be_is_refused(sample, added, message) -> None:
    file = sample / "production.toml"
    file.write_text(file.read_text(encoding="utf-8") + added, encoding="utf-8")
    with pytest.raises(InputError, match=message):
        open_production(sample)


@pytest.mark.parametrize(
    ("found", "instead", "message"),
    [
        ("spares = 1", "spares = -1", r"\[shooting\] spares: found -1; 0 or more is allowed"),
        (
            "fittings_a_piece = 40",
            "fittings_a_piece = 0",
            "fittings_a_piece: found 0; 1 or more is allowed",
        ),
        (
            "fittings_a_piece = 40",
            "fittings_a_piece = nan",
            "fittings_a_piece: found nan; write a whole number",
        ),
    ],
)
def test_numbers_that_cannot_be_are_refused(sample, found, instead, message) -> None:
    file = sample / "production.toml"
    text = file.read_text(encoding="utf-8")
    assert text.count(found) == 1
    file.write_text(text.replace(found, instead), encoding="utf-8")
    with pytest.raises(InputError, match=message):
        open_production(sample)


def test_the_command_refuses_a_plan_and_writes_nothing(sample) -> None:
    file = sample / "production.toml"
    added = SHOOT.format("gull-1", "01-lamp-room", "2027-01-04", "2027-01-05")
    file.write_text(file.read_text(encoding="utf-8") + added, encoding="utf-8")
    done = run("order", sample)
    assert (done.code, done.out) == (ExitCode.INPUT, "")
    assert done.err.endswith("nobody has the puppet 'gull-1'; the puppets are heron-1 to heron-2, crab-1\n")
    assert not (sample / "sheets").exists()


def test_two_hundred_pieces_and_long_names_fit_their_pages() -> None:
    mouth_set = load_mouth_set(shipped("mouthsets") / "tideline.toml")
    piece = mouth_set.piece[-1]
    many = tuple(
        piece.model_copy(update={"code": f"WWW{n:03d}", "name": f"Ænne Šťovíková's widest mouth of all {n}"})
        for n in range(200)
    )
    mouth_set = mouth_set.model_copy(update={"piece": many})
    rows = tuple(PressingRow("heron", one.code, 99_999, 99_999, 99, 99, 999, 99) for one in many)
    codes = tuple(one.code for one in many)
    boards = tuple(Board(f"{'heron' * 7}-{n}", codes) for n in range(1, 4))
    one = OrderCharacter("Old Plumbeck of the Outer Pier and its Islands" * 2, 99, mouth_set, rows, boards)
    document = order_pages(OrderJob("Low Tide Post " * 20, (one,), ShootingPlan(), False))
    pages = pages_of(document)
    check_pages(pages)
    assert len(pages) > 8
    lines = lines_of(pages)
    assert [line[0] for line in lines if line[0].startswith("WWW") and len(line) > 2] == list(codes)
    assert sum(line[0] == "code" for line in lines) == sum(
        any(text.text.startswith("WWW") and text.bold for text in texts) for _, _, texts in pages
    )


def test_an_order_of_nothing_is_a_page(production) -> None:
    document = order_pages(OrderJob("Low Tide Post", (), ShootingPlan(), True))
    texts = [text for line in lines_of(pages_of(document)) for text in line]
    assert "order for the workshop" in texts


def test_an_order_of_nothing_has_its_heads(production, tracked, tmp_path) -> None:
    made, _ = order_pieces(production, replace(tracked, shots=()), look=True)
    _, table, book = write_order(production, made, tmp_path)
    assert len(table.read_text(encoding="utf-8").splitlines()) == 1
    assert [sheet.max_row for sheet in openpyxl.load_workbook(book).worksheets][1:3] == [1, 1]


def test_the_csv_is_plain(ordered) -> None:
    text = (ordered / "order.csv").read_bytes().decode("utf-8")
    assert text.count("\r\n") == text.count("\n")
    assert text.startswith("\ufeff"), "without it, usual spreadsheets take its letters for others"
    assert next(csv.reader(io.StringIO(text[1:]))) == [
        *("character", "heads", "code", "name", *SHOWN),
        *("needed_by", "film", "dated", "revision", "stamp", "read_first"),
    ]


def test_frames_in_the_can_are_counted_and_that_is_told(sample, rows) -> None:
    assert run("sheet", sample, "--shot", "010").code == ExitCode.DONE
    assert run("lock", sample, "010", "--upto", "100").code == ExitCode.DONE
    done = run("order", sample, "--look")
    assert (done.code, "counts the 100 frames that are in the can like the others" in done.err) == (
        ExitCode.DONE,
        True,
    )
    with (sample / "sheets/order.csv").open(encoding="utf-8-sig", newline="") as file:
        assert list(csv.DictReader(file)) == rows


def test_a_character_whose_shot_is_left_out_is_still_in_the_scene(sample) -> None:
    assert run("sheet", sample, "--shot", "020").code == ExitCode.DONE
    assert run("lock", sample, "020", "--upto", "192").code == ExitCode.DONE
    path = sample / "scenes/01-lamp-room.toml"
    head, cut, tail = path.read_text(encoding="utf-8").partition('id = "020"')
    path.write_text(head + cut + tail.replace("frames = 192", "frames = 190", 1), encoding="utf-8")
    done = run("order", sample)
    assert done.code == ExitCode.PARTLY
    assert "is in no shot of" not in done.err


def test_a_shot_that_is_wholly_filmed_needs_no_puppet(sample) -> None:
    assert run("sheet", sample, "--shot", "010").code == ExitCode.DONE
    assert run("lock", sample, "010", "--upto", "192").code == ExitCode.DONE
    path = sample / "production.toml"
    text = path.read_text(encoding="utf-8")
    row = 'scene = "01-lamp-room"\n'
    assert text.count(row) == 2  # the heron's and the crab's
    path.write_text(text.replace(row, row + 'shots = ["020"]\n'), encoding="utf-8")
    done = run("order", sample)
    assert (done.code, done.err) == (ExitCode.DONE, "")
