"""Lists, edits, scripts and recordings taken into a production, and again: what is in its files afterwards."""

import tomllib
from pathlib import Path
from typing import Any

import pytest
from openpyxl import Workbook
from production.films import HEADS, Film, a_film, csv_text, lay, snapshot, timecode
from production.test_recuts import edit
from production.waves import bext, made
from running import run

from lipsync.app.take.taking import TakeOptions, Taking, find_taking, write_taking
from lipsync.errors import ExitCode, InputError
from lipsync.floor import record_file
from lipsync.floor.record import Event, Filmed, Run
from lipsync.production.loading import open_production

FILM = a_film(1, 2, 2)
SCENE = "scenes/01-scene.toml"


@pytest.fixture
def empty(tmp_path: Path) -> Path:
    return lay(tmp_path / "film", FILM)


@pytest.fixture
def folder(empty: Path) -> Path:
    take(empty, written(empty, "list.csv", FILM.csv()))
    return empty


def written(folder: Path, name: str, text: str, encoding: str = "utf-8") -> Path:
    path = folder.parent / name
    path.write_bytes(text.encode(encoding))
    return path


def take(folder: Path, *files: Path, **options: Any) -> Taking:
    taking = find_taking(folder, files, TakeOptions(**options))
    write_taking(taking)
    return taking


def told(taking: Taking) -> list[tuple[str, str, str, int | None]]:
    return [(one.shot, one.line, one.what, one.frames) for one in taking.differences]


def shots(folder: Path, scene: str = SCENE) -> list[dict[str, Any]]:
    return tomllib.loads((folder / scene).read_text("utf-8"))["shot"]


def line(folder: Path, shot: int, number: int, scene: str = SCENE) -> dict[str, Any]:
    return shots(folder, scene)[shot]["line"][number]


def test_a_list_makes_scenes_as_a_person_would_write_them(empty: Path) -> None:
    take(empty, written(empty, "list.csv", FILM.with_line(0, in_frame=6).csv()))
    text = (empty / SCENE).read_text("utf-8")
    assert text.startswith(
        """\
title = "01-scene"

[[shot]]
id = "010"
frames = 192
start = "01:00:00:00"

[[shot.line]]
id = "010-a"
character = "heron"
recording = "recordings/01-scene_010-a.wav"
in = "6 f"
text = "The tide of 0 0 0 is out."
begins = 1

[[shot.line]]
id = "010-b"
"""
    )


@pytest.mark.parametrize("delimiter", [",", ";", "\t", "|"])
@pytest.mark.parametrize("encoding", ["utf-8", "utf-8-sig", "utf-16", "utf-16-le-bom", "cp1252"])
def test_any_separator_and_encoding(delimiter: str, encoding: str, empty: Path) -> None:
    rows = [list(row) for row in FILM.rows()]
    rows[0][HEADS.index("text")] = "Zoë, “wait”; the tide | and\tall."
    rows[0][HEADS.index("character")] = "Zoë Wade"
    text = csv_text([["Low Tide Post", *[""] * 10], HEADS, *rows], delimiter)
    mark, codec = ("\ufeff", "utf-16-le") if encoding == "utf-16-le-bom" else ("", encoding)
    taking = take(empty, written(empty, "list.csv", mark + text, codec))
    assert line(empty, 0, 0)["text"] == "Zoë, “wait”; the tide | and all."
    assert line(empty, 0, 0)["character"] == "heron"
    assert bool(taking.report.messages) == (encoding == "cp1252")


def test_a_workbook_says_the_same_as_a_text(folder: Path) -> None:
    book = Workbook()
    sheet = book.active
    for row in [HEADS, *FILM.rows()]:
        sheet.append(list(row))
    book.save(folder.parent / "list.xlsx")
    assert told(find_taking(folder, [folder.parent / "list.xlsx"])) == []


def test_a_spreadsheet_takes_noughts_away(folder: Path) -> None:
    """010 turns into the number 10: it is the shot that is there."""
    book = Workbook()
    sheet = book.active
    sheet.append(list(HEADS))
    for row in FILM.rows():
        sheet.append([row[0], int(str(row[1])), *row[2:]])
    book.save(folder.parent / "list.xlsx")
    assert told(find_taking(folder, [folder.parent / "list.xlsx"])) == []


def test_a_house_has_headings_of_its_own(tmp_path: Path) -> None:
    more = '[taking.headings]\n"Rolle" = "character"\n"Satz" = "text"\n"Einstellung" = "shot"\n'
    folder = lay(tmp_path / "film", FILM, more=more)
    heads = [{"character": "ROLLE", "text": "satz", "shot": "Einstellung"}.get(head, head) for head in HEADS]
    take(folder, written(folder, "list.csv", csv_text([[*heads, "Notes"], *([*row, "x"] for row in FILM.rows())])))
    assert len(shots(folder)) == 2


def test_an_empty_cell_below_says_the_same_as_above(empty: Path) -> None:
    rows = [list(row) for row in FILM.rows()]
    rows[1][0:2] = ["", ""]
    rows[3][0:2] = ["", ""]
    take(empty, written(empty, "list.csv", csv_text([HEADS, *rows])))
    assert [[one["id"] for one in shot["line"]] for shot in shots(empty)] == [["010-a", "010-b"], ["020-a", "020-b"]]


def test_remarks_order_and_spelling_stay(folder: Path) -> None:
    path = folder / SCENE
    text = path.read_text("utf-8").replace("begins = 97\n", "begins = 97   # by ear\n", 1)
    text = text.replace('[[shot]]\nid = "020"', "# the storm\n[[shot]]\n\"id\" = '020'  # at night")
    path.write_text(text, "utf-8")
    sheet = written(folder, "list.csv", FILM.with_line(1, begins=99).csv())
    assert told(take(folder, sheet)) == [("010", "010-b", "moves", 2)]
    assert path.read_text("utf-8") == text.replace("begins = 97   # by ear", "begins = 99   # by ear")


def test_what_is_written_otherwise_and_means_the_same_stays(folder: Path) -> None:
    path = folder / SCENE
    text = (
        path.read_text("utf-8")
        .replace("begins = 97", 'begins = "01:00:04:00"', 1)
        .replace("begins = 1\n", 'begins = "0 s"\n', 1)
    )
    path.write_text(text, "utf-8")
    assert told(take(folder, written(folder, "list.csv", FILM.csv()))) == []
    assert path.read_text("utf-8") == text


def test_lines_without_ids_are_known_by_their_words_and_get_ids_that_were_never_used(folder: Path) -> None:
    kept = folder / "breakdowns/01-scene/010-c.toml"
    kept.parent.mkdir(parents=True)
    kept.write_text("of a line that is gone", "utf-8")
    rows = [["", *row] for row in csv_rows(FILM, without="line")]
    fresh = dict(zip(OTHERS, rows[0][1:], strict=True)) | {"text": "Brand new.", "recording": "new-0.wav"}
    rows.insert(0, ["", *fresh.values()])
    rows[1][1 + OTHERS.index("begins")] = 50
    taking = take(folder, written(folder, "list.csv", csv_text([["notes", *OTHERS], *rows])))
    assert told(taking) == [("010", "010-d", "new", None), ("010", "010-a", "moves", 49)]


OTHERS = tuple(head for head in HEADS if head != "line")


def csv_rows(film: Film, without: str) -> list[list[object]]:
    return [[one for head, one in zip(HEADS, row, strict=True) if head != without] for row in film.rows()]


def test_ids_that_are_numbered_anew_in_each_shot(tmp_path: Path) -> None:
    folder = lay(tmp_path / "film", FILM, more='[taking]\nlines = "{shot}-{line}"\n')
    rows = [list(row) for row in FILM.rows()]
    for row, id in zip(rows, "abab", strict=True):
        row[HEADS.index("line")] = id
    take(folder, written(folder, "list.csv", csv_text([HEADS, *rows])))
    assert [one["id"] for shot in shots(folder) for one in shot["line"]] == ["010-a", "010-b", "020-a", "020-b"]


def test_a_part_of_a_list_takes_nothing_away(folder: Path) -> None:
    sheet = written(folder, "list.csv", csv_text([HEADS, FILM.rows()[1]]))
    assert told(find_taking(folder, [sheet], TakeOptions(part=True))) == []
    assert told(find_taking(folder, [sheet])) == [
        ("010", "010-a", "gone", None), ("020", "020-a", "gone", None), ("020", "020-b", "gone", None)
    ]  # fmt: skip


def test_the_words_from_the_list_and_the_places_from_the_edit(empty: Path) -> None:
    names = ("scene", "shot", "line", "character", "text", "recording")
    rows = [[row[HEADS.index(name)] for name in names] for row in FILM.rows()]
    sheet = written(empty, "list.csv", csv_text([names, *rows]))
    assert len(find_taking(empty, [sheet]).report.problems) == 2 + 4  # two shots without length, lines without begins
    cut = written(empty, "cut.edl", edit(FILM.with_line(1, in_frame=6, out_frame=60), list(FILM.shots)))
    assert take(empty, sheet, cut).report.problems == ()
    assert line(empty, 0, 1) == {
        "id": "010-b",
        "character": "crab",
        "recording": "recordings/01-scene_010-b.wav",
        "in": "6 f",
        "out": "60 f",
        "text": "The tide of 0 0 1 is out.",
        "begins": timecode(86_400 + 96),
    }
    assert told(find_taking(empty, [sheet, cut])) == []
    assert told(find_taking(empty, [cut])) == []


def test_another_take_in_the_edit_is_re_recorded(folder: Path) -> None:
    (folder / "recordings/01-scene_010-a_take2.wav").write_bytes((folder / FILM.lines[0].recording).read_bytes())
    cut = edit(FILM, list(FILM.shots)).replace("01-scene_010-a.wav", "01-scene_010-a_take2.wav")
    taking = take(folder, written(folder, "cut.edl", cut))
    assert told(taking) == [("010", "010-a", "re-recorded", None)]


def test_an_event_of_no_line_is_told_and_the_rest_is_taken(folder: Path) -> None:
    cut = edit(FILM.with_line(0, begins=3), list(FILM.shots))
    times = f"{timecode(0)} {timecode(20)} {timecode(86_500)} {timecode(86_520)}"
    more = f"077  XX A C {times}\n* FROM CLIP NAME: gull.wav\n"
    taking = take(folder, written(folder, "cut.edl", cut + more))
    assert told(taking) == [("010", "010-a", "moves", 2)]
    assert "event 077: gull.wav, XX: no line has this recording" in str(taking.report.problems[0])


def test_markers_are_shots_where_there_is_no_picture(folder: Path) -> None:
    rows = [f"001  AX A C {timecode(0)} {timecode(72)} {timecode(86_400)} {timecode(86_472)}"]
    rows += [
        "* FROM CLIP NAME: 01-scene_010-a.wav",
        "* LOC: 01:00:00:00 RED 01-scene_010",
        "* LOC: 01:00:09:00 RED 020",
    ]
    rows += [f"002  AX A C {timecode(0)} {timecode(72)} {timecode(86_750)} {timecode(86_822)}"]
    rows += ["* FROM CLIP NAME: 01-scene_020-a.wav"]
    found = told(find_taking(folder, [written(folder, "cut.edl", "\n".join(rows))], TakeOptions(part=True)))
    assert ("010", "", "grows", 24) in found
    assert ("020", "", "starts elsewhere", 24) in found


def stamped(folder: Path, name: str, label_frame: int) -> None:
    """EBU Tech 3285: samples from midnight, here at 8 kHz and 24 frames a second."""
    (folder / name).write_bytes(made(24_000, bext(label_frame * 8000 // 24), rate_hz=8000))


def test_a_line_without_a_beginning_has_that_of_its_recordings_time_stamp(empty: Path) -> None:
    stamped(empty, FILM.lines[0].recording, 86_400 + 48)
    stamped(empty, FILM.lines[1].recording, 90_000)
    rows = csv_rows(FILM, without="begins")
    heads = [head for head in HEADS if head != "begins"]
    rows[0][heads.index("in")] = 1
    taking = take(empty, written(empty, "list.csv", csv_text([heads, *rows])))
    assert line(empty, 0, 0)["begins"] == timecode(86_400 + 48 + 24)
    why = [str(problem) for problem in taking.report.problems]
    assert "the time stamp of recordings/01-scene_010-b.wav, 01:02:30:00, is not in its shot" in why[0]
    assert "has no begins, and its recording no time stamp" in why[1]
    assert told(find_taking(empty, [written(empty, "list.csv", csv_text([heads, *rows]))])) == []


def test_recordings_whose_names_say_the_line(folder: Path) -> None:
    names = ("scene", "shot", "line", "character", "text", "begins", "frames")
    rows = [[FILM.rows()[0][HEADS.index(name)] for name in names] for _ in range(1)]
    rows[0][2], rows[0][4] = "c", "Again."
    sheet = written(folder, "list.csv", csv_text([names, *rows]))
    sounds = folder / "recordings/loops"
    sounds.mkdir()
    (sounds / "01-scene_010_c.wav").write_bytes((folder / FILM.lines[0].recording).read_bytes())
    (sounds / "tide.wav").write_bytes(b"")
    taking = take(folder, sheet, sounds, part=True)
    assert told(taking) == [("010", "c", "new", None)]
    assert line(folder, 0, 2)["recording"] == "recordings/loops/01-scene_010_c.wav"
    assert "1 recordings are not named {scene}_{shot}_{line} and were passed over: tide.wav" in str(
        taking.report.messages[0]
    )


SCRIPT = """\
1   INT. LAMP ROOM - NIGHT

The wind has been here.

                    ZOË WADE (V.O.)
          Poor old lamp.
          (to herself)
          The wind has blown you out.

                    MR CLAMP
          Good evening!

She turns. NOBODY SPEAKS.

                    ZOË WADE (CONT'D)
          Mind the paint.

                    MR CLAMP
          Oops.
"""
SUBTITLES = """\
1
00:00:00,000 --> 00:00:02,000
ZOË WADE: Poor old lamp.
<i>The wind has blown you out.</i>

2
00:00:04,000 --> 00:00:05,000
MR CLAMP: Good evening!

3
00:00:08,000 --> 00:00:09,000
ZOË WADE: Mind the paint.

4
00:00:12,000 --> 00:00:13,000
MR CLAMP: Oops.
"""
VTT = "WEBVTT\n\n" + "".join(
    f"00:00:0{n}.000 --> 00:00:0{n}.900\n<v {who}>{text}\n\n"
    for n, (who, text) in enumerate(
        (
            ("Zoë Wade", "Poor old lamp. The wind has blown you out."),
            ("Mr Clamp", "Good evening!"),
            ("Zoë Wade", "Mind the paint."),
            ("Mr Clamp", "Oops."),
        )
    )
)


@pytest.mark.parametrize(("name", "text"), [("a.txt", SCRIPT), ("a.srt", SUBTITLES), ("a.vtt", VTT)])
def test_the_words_come_from_a_script_or_from_subtitles(name: str, text: str, empty: Path) -> None:
    names = ("scene", "shot", "line", "recording", "begins", "frames", "start")
    rows = [[row[HEADS.index(one)] for one in names] for row in FILM.rows()]
    sheet = written(empty, "list.csv", csv_text([names, *rows]))
    script = text.replace("1   INT.", "INT.") if name == "a.txt" else text
    take(empty, sheet, written(empty, name, script))
    said = [(one["character"], one["text"]) for shot in shots(empty) for one in shot["line"]]
    assert said == [
        ("heron", "Poor old lamp. The wind has blown you out."),
        ("crab", "Good evening!"),
        ("heron", "Mind the paint."),
        ("crab", "Oops."),
    ]


def test_as_many_speeches_as_lines_or_none_is_taken(empty: Path) -> None:
    names = ("scene", "shot", "line", "recording", "begins", "frames")
    rows = [[row[HEADS.index(one)] for one in names] for row in FILM.rows()][:3]
    script = written(empty, "a.txt", SCRIPT.replace("1   INT.", "INT."))
    taking = find_taking(empty, [written(empty, "list.csv", csv_text([names, *rows])), script])
    assert "has 4 speeches that no line has, and there are 3 lines without words" in str(taking.report.messages[0])
    assert len(taking.report.problems) == 3


def filmed(folder: Path, shot: str, upto: int) -> Path:
    frames = ((0, upto - 1),)
    event = Event(1, "lock", frames, {"heron": (Run(0, upto - 1, "REST", "REST"),)}, "A", "AAA-AA-AAA")
    path = record_file.own_place(folder, "01-scene", shot)
    record_file.write(path, Filmed(shot, (event,)), 1)
    return path


def test_a_filmed_shot_is_never_touched_without_being_named(folder: Path) -> None:
    filmed(folder, "010", 48)
    sheet = written(folder, "list.csv", FILM.with_line(0, begins=5).with_line(2, text="Now.").csv())
    before = snapshot(folder)
    with pytest.raises(InputError) as refused:
        find_taking(folder, [sheet])
    (problem,) = refused.value.problems
    assert str(problem) == (
        "scene 01-scene: shot 010: frames 1 to 48 are in the can, and stay as they were filmed. Line 010-a: moves by "
        "+4 frames from 'frame 1' to 'frame 5': filmed mouths would not follow it. Name the shot to take this all "
        "the same (--filmed 01-scene/010), or to leave it as it is (--leave 01-scene/010)"
    )
    assert snapshot(folder) == before
    assert told(find_taking(folder, [sheet], TakeOptions(leave=("01-scene/010",)))) == [
        ("020", "020-a", "reworded", None)
    ]
    named = find_taking(folder, [sheet], TakeOptions(filmed=("01-scene/010",)))
    assert told(named) == [("010", "010-a", "moves", 4), ("020", "020-a", "reworded", None)]


def test_a_filmed_shot_may_lie_elsewhere_in_the_film(folder: Path) -> None:
    filmed(folder, "020", 48)
    longer = Film(FILM.lines, {**FILM.shots, ("01-scene", "010"): (200, "01:00:00:00")})
    cut = written(folder, "cut.edl", edit(longer, list(FILM.shots)))
    assert told(take(folder, cut)) == [("010", "", "grows", 8), ("020", "", "starts elsewhere", 8)]


def test_a_line_that_would_leave_a_shot_that_stays_stays(folder: Path) -> None:
    filmed(folder, "010", 48)
    moved = Film((*FILM.lines[1:], FILM.lines[0]), FILM.shots).with_line(3, shot="020")
    sheet = written(folder, "list.csv", moved.csv())
    with pytest.raises(InputError, match="Line 010-a: in another shot"):
        find_taking(folder, [sheet])
    assert told(find_taking(folder, [sheet], TakeOptions(leave=("01-scene/010",)))) == []


def test_shots_and_lines_are_unique_within_their_scene(tmp_path: Path) -> None:
    film = a_film(2, 2, 2)
    folder = lay(tmp_path / "film", film)
    take(folder, written(folder, "list.csv", film.csv()))
    production = open_production(folder)
    assert [shot.id for _, shot in production.shots()] == ["010", "020", "010", "020"]
    assert production.shots(shot="02-scene/010")[0][0].id == "02-scene"
    with pytest.raises(InputError, match="several shots '010'; name its scene as well: 01-scene/010 or 02-scene/010"):
        production.shots(shot="010")


def test_at_the_command_line(empty: Path) -> None:
    sheet = written(empty, "list.csv", FILM.csv())
    nothing = snapshot(empty)
    shown = run("take", empty, sheet, "--dry-run")
    assert (shown.code, snapshot(empty)) == (0, nothing)
    assert shown.out.count("new shot") == 2
    assert "6 changes in 2 shots." in shown.err
    unasked = run("take", empty, sheet)
    assert (unasked.code, snapshot(empty)) == (3, nothing)
    assert "nothing was written: add --yes to write it, or --dry-run to look only" in unasked.err
    done = run("take", empty, sheet, "--yes")
    assert done.code == 0
    assert done.out.rstrip().endswith("01-scene.toml")
    again = run("take", empty, sheet)
    assert (again.code, again.out, again.err) == (0, "", "Nothing changes.\n")


def test_names_that_are_too_long_are_sentences(sample: Path) -> None:
    """A recording's in a list, and a list's on the command line: both are told as not there."""
    long = "long" * 80
    listed = sample / "lines.csv"
    listed.write_text(f"scene,shot,line,character,text,recording\n01-lamp-room,010,x,heron,Here.,{long}.wav\n")
    done = run("take", sample, listed, "--dry-run")
    assert done.code == ExitCode.INPUT
    assert "row 2 recording" in done.err
    assert run("take", sample, sample / f"{long}.csv", "--dry-run").code == ExitCode.INPUT
