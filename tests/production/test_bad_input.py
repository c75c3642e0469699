"""Lists and edits that cannot be taken: all is told in one go, by row or event, and nothing is written."""

import datetime
from collections.abc import Sequence
from pathlib import Path
from typing import Any

import pytest
from openpyxl import Workbook
from production.films import HEADS, Film, a_film, csv_text, lay, snapshot, timecode
from production.test_recuts import edit

from lipsync.app.take.taking import TakeOptions, find_taking, write_taking
from lipsync.errors import InputError, OutputError

FILM = a_film(1, 2, 2)


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    """A production into which the film was taken."""
    made = lay(tmp_path / "film", FILM)
    (tmp_path / "list.csv").write_text(FILM.csv(), "utf-8")
    write_taking(find_taking(made, [tmp_path / "list.csv"]))
    return made


def faults(folder: Path, *files: Path, **options: Any) -> list[str]:
    """Return what is told, without the files' folder; nothing may have been written."""
    before = snapshot(folder)
    with pytest.raises(InputError) as told:
        find_taking(folder, files, TakeOptions(**options))
    assert snapshot(folder) == before
    return [str(problem).replace(f"{folder.parent}/", "") for problem in told.value.problems]


def listed(folder: Path, rows: Sequence[Sequence[object]], heads: Sequence[object] = HEADS) -> Path:
    path = folder.parent / "list.csv"
    path.write_text(csv_text([heads, *rows]), "utf-8")
    return path


def changed(row: int, **what: object) -> list[list[object]]:
    rows = [list(one) for one in FILM.rows()]
    for head, value in what.items():
        rows[row][HEADS.index("in" if head == "in_" else head)] = value
    return rows


ROWS = {
    "twice": ({"line": "010-b"}, "row 3 line: '010-b' is the id of row 2 as well; give each line its own"),
    "nobody": ({"character": "Zoe Wade"}, "row 2 character: nobody is called 'Zoe Wade'; the nearest are Zoë Wade"),
    "no recording": ({"recording": "no.wav"}, "row 2 recording: 'no.wav' was not found; looked in film/recordings"),
    "frames": ({"frames": "two"}, "row 2 frames: found 'two'; write a whole number of frames"),
    "two lengths": ({"frames": 7}, "row 3 frames: found 192, but row 2 says 7 of the same shot; make them one"),
    "begins": ({"begins": "soon"}, "row 2 begins: 'soon' is no beginning; write a frame number (12)"),
    "other rate": ({"begins": "01:00:00:24"}, "row 2 begins: '01:00:00:24' is no timecode at 24 frames a second"),
    "start": ({"start": "192"}, "row 2 start: '192' is no timecode at 24 frames a second"),
    "in": ({"in_": "later"}, "row 2 in: 'later' is no point of a recording"),
    "longer": ({"out": "99 f"}, "row 2 out: is after the end of recordings/01-scene_010-a.wav, which lasts 3.000 s"),
    "in after out": ({"in_": "2 s", "out": "1 s"}, "row 2 out: is not after in"),
    "no scene": ({"scene": "§§"}, "row 2 scene: '§§' can be no id; write letters a to z or digits"),
    "too long": ({"text": "x" * 5001}, "row 2 text: holds 5001 letters, 5000 are allowed; make lines of it"),
}  # fmt: skip


@pytest.mark.parametrize("name", ROWS)
def test_a_row_that_cannot_be_taken(name: str, folder: Path) -> None:
    what, says = ROWS[name]
    found = faults(folder, listed(folder, changed(0, **what)))
    assert len(found) == 1
    assert found[0].startswith(f"list.csv: {says}")


def test_all_rows_are_told_in_one_go(folder: Path) -> None:
    rows = changed(0, character="a gull") + [list(row) for row in FILM.rows()]
    rows[5][HEADS.index("recording")] = "lost.wav"
    rows[6][HEADS.index("begins")] = "x"
    found = faults(folder, listed(folder, rows))
    assert len([one for one in found if "the id of row" in one]) == 4
    assert [one.split(":")[1] for one in found if "the id of row" not in one] == [
        " row 2 character", " row 7 recording", " row 8 begins"
    ]  # fmt: skip


def test_a_list_without_headings(folder: Path) -> None:
    path = folder.parent / "list.csv"
    path.write_text(csv_text(FILM.rows()), "utf-8")
    (found,) = faults(folder, path)
    assert found.startswith("list.csv: has no row of headings; it begins with '01-scene', '010'")
    assert "[taking.headings]" in found


def test_a_column_that_is_there_twice(folder: Path) -> None:
    heads = ["dialogue" if head == "in" else head for head in HEADS]
    (found,) = faults(folder, listed(folder, FILM.rows(), heads))
    assert found.startswith("list.csv: row 1: the column 'dialogue' is there twice")


@pytest.mark.parametrize(
    ("content", "says"),
    [
        (b"\x00\x01\x02", "is no text; save it as CSV in UTF-8"),
        (b"\xff\xfe\x00", "is no text; save it as CSV in UTF-8"),
        (b'scene,shot,line\n1,010,"a\n', "is no table"),
        (b"", "has no row of headings; it begins with nothing"),
        (b"scene,shot\n" + b"1,010\n" * 100_000, "has 100001 rows, 20000 are allowed; take a scene at a time"),
    ],
)
def test_a_text_that_is_no_list(content: bytes, says: str, folder: Path) -> None:
    (folder.parent / "list.csv").write_bytes(content)
    (found,) = faults(folder, folder.parent / "list.csv")
    assert says in found


def workbook(path: Path, rows: Sequence[Sequence[object]], merge: str = "") -> Path:
    book = Workbook()
    sheet = book.active
    for row in rows:
        sheet.append(list(row))
    if merge:
        sheet.merge_cells(merge)
    book.save(path)
    return path


@pytest.mark.parametrize(
    ("what", "says"),
    [
        ({"begins": datetime.time(1, 0, 4)}, "row 2 begins: holds a date or a time of the spreadsheet (01:00:04)"),
        ({"start": datetime.datetime(2026, 11, 24)}, "row 2 start: holds a date or a time"),
        ({"frames": "=96*2"}, "row 2 frames: holds a formula, '=96*2'; paste its value in its place"),
        ({"text": "#N/A"}, "row 2 text: holds '#N/A', the spreadsheet's word for an error"),
        ({"frames": True}, "row 2 frames: holds 'True', which is neither text nor a number"),
    ],
)
def test_cells_of_a_workbook_that_say_nothing(what: dict[str, object], says: str, folder: Path) -> None:
    path = workbook(folder.parent / "list.xlsx", [HEADS, *changed(0, **what)])
    found = faults(folder, path)
    assert found[0].startswith(f"list.xlsx: {says}")


def test_merged_cells(folder: Path) -> None:
    """Merged downward in a column that says it of every row, they are understood; elsewhere they are told."""
    rows = [HEADS, *FILM.rows()]
    fine = workbook(folder.parent / "list.xlsx", rows, "B2:B3")
    assert find_taking(folder, [fine]).differences == ()
    merged = workbook(folder.parent / "list.xlsx", rows, "E2:E3")
    assert faults(folder, merged) == [
        "list.xlsx: row 3 text: is merged with other cells; unmerge them, and fill in each row"
    ]


def test_a_workbook_that_is_none_or_too_long(folder: Path) -> None:
    path = folder.parent / "list.xlsx"
    path.write_bytes(b"PK\x03\x04 no workbook")
    assert "is no workbook (.xlsx) that can be read" in faults(folder, path)[0]
    book = Workbook(write_only=True)
    sheet = book.create_sheet()
    for _ in range(100_000):
        sheet.append(("1", "010"))
    book.save(path)
    assert "has 100000 rows, 20000 are allowed" in faults(folder, path)[0]


def test_files_that_are_nothing_that_can_be_taken(folder: Path) -> None:
    (folder.parent / "cut.aaf").write_bytes(b"x")
    found = faults(folder, folder.parent / "cut.aaf", folder.parent / "none.csv")
    assert found[0].startswith(
        "cut.aaf: is nothing that can be taken; give a dialogue list (.csv, .tsv, .xlsx), an edit"
    )
    assert found[1] == "none.csv: there is no such file; check its name and folder"


def test_an_edit_that_takes_more_than_a_recording_has(folder: Path) -> None:
    path = folder.parent / "cut.edl"
    path.write_text(edit(FILM.with_line(1, out_frame=90), list(FILM.shots)), "utf-8")
    (found,) = faults(folder, path)
    assert found.startswith(
        "cut.edl: event 003: takes frames 0 to 90 of recordings/01-scene_010-b.wav, which lasts 72"
    )


def test_a_line_that_is_cut_apart(folder: Path) -> None:
    text = edit(FILM, list(FILM.shots))
    row = f"009  AX A C {timecode(0)} {timecode(20)} {timecode(86_500)} {timecode(86_520)}\n"
    (folder.parent / "cut.edl").write_text(f"{text}{row}* FROM CLIP NAME: 01-scene_010-a.wav\n", "utf-8")
    (found,) = faults(folder, folder.parent / "cut.edl")
    assert found.startswith("cut.edl: event 009: line 010-a of scene 01-scene is cut apart, into event 002 and this")


def test_a_shot_that_is_cut_apart(folder: Path) -> None:
    order = list(FILM.shots)
    (folder.parent / "cut.edl").write_text(edit(Film((), FILM.shots), [*order, order[0]]), "utf-8")
    (found,) = faults(folder, folder.parent / "cut.edl")
    assert "shows shot 010 of scene 01-scene, which is cut apart (event 001, event 003)" in found


def test_shots_written_in_brackets_are_not_amended(folder: Path) -> None:
    scene = folder / "scenes/01-scene.toml"
    scene.write_text('title = "x"\nshot = [{ id = "010", frames = 192 }, { id = "020", frames = 192 }]\n', "utf-8")
    (found,) = faults(folder, listed(folder, FILM.rows()))
    assert "has its shots or lines in brackets; write each as [[shot]] and [[shot.line]], and take again" in found


def test_what_the_production_would_not_allow_is_told_before_it_is_written(folder: Path) -> None:
    found = faults(folder, listed(folder, changed(0, begins=500)))
    assert len(found) == 1
    assert "found 500, after the shot ends; its last frame is 192" in found[0]


def test_nothing_is_half_taken(folder: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Where the second file cannot be written, the first is as it was."""
    film = a_film(2, 2, 2)
    for line in film.lines:
        (folder / line.recording).write_bytes((folder / FILM.lines[0].recording).read_bytes())
    path = listed(folder, film.with_line(0, text="Now.").rows())
    taking, before = find_taking(folder, [path]), snapshot(folder)
    assert len(taking.files) == 2
    from lipsync.app.take import taking as module

    written = module.write_whole

    def fails(path: Path, content: bytes) -> None:
        if path.stem == "02-scene":
            raise OutputError(f"{path}: cannot be written: the disk is full; free some space")
        written(path, content)

    monkeypatch.setattr(module, "write_whole", fails)
    with pytest.raises(OutputError, match="the disk is full; free some space; nothing was taken"):
        write_taking(taking)
    assert snapshot(folder) == before


def test_a_file_changed_meanwhile_is_not_written_over(folder: Path) -> None:
    taking = find_taking(folder, [listed(folder, changed(0, text="Now."))])
    scene = folder / "scenes/01-scene.toml"
    scene.write_text(scene.read_text("utf-8") + "# mine\n", "utf-8")
    with pytest.raises(InputError, match="was changed meanwhile; nothing was written: take again"):
        write_taking(taking)
    assert scene.read_text("utf-8").endswith("# mine\n")
