"""On the floor, from the command line: a day's work on the sample production, and each thing that cannot be done."""

from __future__ import annotations

import json
import re
from pathlib import Path

import pypdfium2
import pytest
import webvtt

from lipsync.app.print.track_forms import TrackForm
from lipsync.app.print.tracking import FORMS
from lipsync.errors import ExitCode
from tests.running import run

SCENE = "scenes/01-lamp-room.toml"


def stamp_of(folder: Path, shot: str, revision: int = -1) -> str:
    (path,) = (folder / "prints").glob(f"*/{shot}.json")
    return json.loads(path.read_text("utf-8"))["revisions"][revision]["stamp"]


def replace(file: Path, old: str, new: str) -> None:
    text = file.read_text("utf-8")
    assert text.count(old) == 1
    file.write_text(text.replace(old, new), "utf-8")


def test_a_day_on_the_floor(sample: Path) -> None:
    assert run("sheet", sample, "--shot", "020").code == ExitCode.DONE
    first = (sample / "sheets/01-lamp-room/020.pdf").read_bytes()
    stamp = stamp_of(sample, "020")

    good = run("check-print", sample, stamp.lower())
    assert (good.code, good.out) == (ExitCode.DONE, f"{stamp} is revision A of shot 020: still good\n")

    locked = run("lock", sample, "020", "--upto", 60, "--wore", "58=crab:RING", "--dated", "2026-11-24")
    assert locked.code == ExitCode.DONE
    assert locked.out.splitlines()[0] == f"shot 020: locked frames 1 to 60, filmed from revision A ({stamp})"
    assert re.fullmatch(r"shot 020: frame 58: crab wore RING, planned was \w+", locked.out.splitlines()[1])

    # The heron's line moves by two frames; what is filmed stays, and the crab goes on from the piece it really wore.
    replace(sample / SCENE, '"3.25 s"', '"3.3333334 s"')
    compared = run("compare", sample, "020")
    assert compared.code == ExitCode.DONE
    told = compared.out.splitlines()
    assert told[0] == "shot 020, from revision A to now:"
    assert any(re.search(r"Zoë Wade: “Mind the paint … It’?'?s wet” moved 2 frames later", text) for text in told)
    assert not any("frame 58" in text for text in told)  # it is filmed: no change, whatever was worn

    stale = run("check-print", sample, stamp)
    assert stale.code == ExitCode.DONE
    assert stale.out.startswith(f"{stamp} is revision A of shot 020: no longer good, and the shot has changed since")

    assert run("sheet", sample, "--shot", "020").code == ExitCode.DONE
    second = (sample / "sheets/01-lamp-room/020.pdf").read_bytes()
    assert second != first
    assert f"work from revision B ({stamp_of(sample, '020')})" in run("check-print", sample, stamp).out
    same = run("compare", sample, "020", "a", "b", "--json")
    record = json.loads(same.out)
    assert (record["before"]["state"], record["after"]["state"]) == ("revision A", "revision B")
    assert [change["text"] for change in record["changes"]] == [text.split(": ", 1)[1] for text in told[1:]]
    assert run("compare", sample, "020").out == "nothing changed\n"

    again = run("refilm", sample, "020", "--from", 50, "--to", 60, "--reason", "the lamp fell over")
    assert (again.code, again.out) == (ExitCode.DONE, "shot 020: unlocked frames 50 to 60, to refilm\n")
    shown = json.loads(run("filmed", sample, "--shot", "020", "--json").out)["shots"][0]
    assert shown["filmed"] == [[1, 49]]
    assert [event["what"] for event in shown["events"]] == ["lock", "refilm"]
    assert [event["reason"] for event in shown["events"]] == ["", "the lamp fell over"]
    assert [event["dated"] for event in shown["events"]] == ["2026-11-24", None]
    assert run("unlock", sample, "020", "--upto", 49).out == "shot 020: unlocked frames 1 to 49\n"
    assert "refilm" in run("filmed", sample, "--shot", "020").out

    # Printed again without a change: the same revision, the same bytes; locks that are gone leave the plan as it was.
    assert run("sheet", sample, "--shot", "020").code == ExitCode.DONE
    third = (sample / "sheets/01-lamp-room/020.pdf").read_bytes()
    assert run("sheet", sample, "--shot", "020").code == ExitCode.DONE
    assert (sample / "sheets/01-lamp-room/020.pdf").read_bytes() == third


def test_what_no_longer_fits_is_said_when_the_sheet_is_printed(sample: Path) -> None:
    assert run("sheet", sample, "--shot", "010").code == ExitCode.DONE
    assert run("lock", sample, "010", "--upto", 60).code == ExitCode.DONE
    replace(sample / SCENE, "begins = 7", "begins = 13")
    printed = run("sheet", sample, "--shot", "010")
    assert printed.code == ExitCode.DONE
    assert '[[shot]] "010": heron: what is filmed does not fit the sound: frame' in printed.err


def test_a_shot_shorter_than_what_is_filmed_is_left_out_and_the_others_are_done(sample: Path) -> None:
    assert run("sheet", sample).code == ExitCode.DONE
    assert run("lock", sample, "020", "--from", 100, "--to", 192).code == ExitCode.DONE
    text = (sample / SCENE).read_text("utf-8").replace('id = "020"\nframes = 192', 'id = "020"\nframes = 180')
    (sample / SCENE).write_text(text, "utf-8")
    printed = run("sheet", sample)
    assert printed.code == ExitCode.PARTLY
    assert '[[shot]] "020" frames: found 180, but frames 181 to 192 of shot 020 went into the can' in printed.err
    assert len(printed.out.splitlines()) == 3


@pytest.mark.parametrize(
    ("arguments", "said"),
    [
        (
            ("lock", "{}", "010", "--upto", "999"),
            '"010": has frames 1 to 192, and not 1 to 999; name frames of the shot',
        ),
        (("lock", "{}", "999", "--upto", "9"), "holds no shot '999'; it has 010, 020, 030, 040"),
        (
            ("lock", "{}", "010", "--upto", "9"),
            "was never printed, so nothing of it can have been filmed; first: lipsync",
        ),
        (("lock", "{}", "010"), "say which frames: --upto FRAME, --from FRAME --to FRAME, or --wore FRAME=CODE"),
        (
            ("lock", "{}", "010", "--from", "3"),
            "name frames in one way: --upto FRAME, or --from FRAME with --to FRAME",
        ),
        (
            ("lock", "{}", "010", "--upto", "3", "--dated", "today"),
            "--dated today: is no date; write such as 2026-11-24",
        ),
        (("unlock", "{}", "010", "--upto", "9"), "frames 1 to 9 cannot be unlocked: nothing of it is locked"),
        (
            ("refilm", "{}", "010", "--upto", "9", "--reason", ""),
            "--reason: is empty; say why the take is filmed again",
        ),
        (("filmed", "{}", "--shot", "999"), "holds no shot '999'"),
        (
            ("check-print", "{}", "AAA-AA-AAA"),
            "no print of this production has the stamp 'AAA-AA-AAA'; read it again",
        ),
        (("compare", "{}", "010"), "shot 010 was never printed; first: lipsync sheet"),
        (
            ("compare", "{}", "010", "A", "B"),
            "shot 010 has no revision 'A'; it has none, and `now` for the present state",
        ),
        (("compare", "{}", "999"), "holds no shot '999'"),
    ],
)
def test_what_cannot_be_done_is_a_sentence(heard_sample: Path, arguments, said) -> None:
    refused = run(*(argument.format(heard_sample) for argument in arguments))
    assert refused.code == ExitCode.INPUT
    assert refused.out == ""
    assert said in refused.err
    assert "Traceback" not in refused.err
    assert not (heard_sample / "filmed").exists()


def test_a_code_that_nobody_has(sample: Path) -> None:
    assert run("sheet", sample, "--shot", "010").code == ExitCode.DONE
    refused = run("lock", sample, "010", "--upto", 9, "--wore", "3=XX9")
    assert refused.code == ExitCode.INPUT
    assert refused.err.startswith("--wore 3=XX9: 'XX9' is a code that nobody in this shot has; heron has REST, ")


def test_the_track_is_shown_and_written_in_every_form(heard_sample: Path, tmp_path: Path) -> None:
    shown = run("track", heard_sample, "--shot", "030")
    assert shown.code == ExitCode.DONE
    assert shown.out.startswith("shot 030   Low Tide Post · ")
    forms = [word for form in FORMS for word in ("--as", form)]
    written = run("track", heard_sample, "--scene", "02-post-office", *forms, "--out", tmp_path)
    assert written.code == ExitCode.DONE
    paths = [Path(line) for line in written.out.splitlines()]
    assert [path.relative_to(tmp_path).as_posix() for path in paths] == [
        f"02-post-office/{shot}.{ending}" for shot in ("030", "040") for ending in ("txt", "csv", "json", "vtt")
    ]
    assert paths[0].read_text("utf-8") == shown.out
    assert json.loads(paths[2].read_text("utf-8"))["form"] == "lipsync track 2"
    assert {caption.identifier.split()[0] for caption in webvtt.read(str(paths[3]))} == {"word", "piece"}
    assert list(TrackForm) == list(FORMS)
    assert run("track", heard_sample, "--shot", "999").code == ExitCode.INPUT


def test_a_name_in_a_script_that_no_font_has_holds_up_no_other_shot(sample: Path) -> None:
    replace(sample / "production.toml", 'name = "Mr Clamp"', 'name = "山田"')
    for command, first in (("sheet", "sheets/01-lamp-room/010.pdf"), ("packet", "packets/01-lamp-room/010.pdf")):
        printed = run(command, sample)
        assert printed.code == ExitCode.PARTLY
        assert printed.out.splitlines() == [str(sample / first)]
        told = printed.err.splitlines()
        named = [text for text in told[:-1] if "is not printed, since it would lack" not in text]
        assert [re.search(r'"(\d+)": the name', text)[1] for text in named] == ["020", "030", "040"]
        assert named[0].startswith(
            f"{sample}/scenes/01-lamp-room.toml: [[shot]] \"020\": the name '山田' has letters that cannot be printed"
        )
        assert "Not done: 3" in told[-1]
    assert not (sample / "prints/01-lamp-room/020.json").exists()
    counted = run("count", sample)
    assert counted.code == ExitCode.INPUT
    assert "count: the name '山田' has letters that cannot be printed" in counted.err


def test_where_the_page_is_too_small_another_is_printed_and_says_so(sample: Path) -> None:
    replace(sample / "production.toml", 'page = "A4"', 'page = "A4"\nform = "large"')
    printed = run("sheet", sample, "--scene", "01-lamp-room")
    assert (printed.code, printed.err) == (0, "")
    one, two = (sample / f"sheets/01-lamp-room/{shot}.pdf" for shot in ("010", "020"))
    assert printed.out.splitlines() == [str(one), str(two)]
    said = pypdfium2.PdfDocument(two)[0].get_textpage().get_text_range()
    assert "A4 portrait is too small for this shot, so it is on A4 landscape" in said
    assert "too small" not in pypdfium2.PdfDocument(one)[0].get_textpage().get_text_range()


def test_500_letters_in_a_name_and_a_title(sample: Path) -> None:
    replace(sample / "production.toml", 'title = "Low Tide Post"', f'title = "{"Low tide " * 55}"')
    replace(sample / "production.toml", 'name = "Mr Clamp"', f'name = "{"Clamp" * 100}"')
    printed = run("sheet", sample, "--shot", "040")
    assert printed.code == ExitCode.INPUT
    title, name = printed.err.splitlines()
    assert re.match(r".*production.toml: title: found 'Low tide .*\.\.\.; write at most \d+ characters$", title)
    assert re.match(r".*production.toml: \[characters\] \[crab\] name: found 'Clamp.*; write at most \d+ char", name)


def test_what_was_locked_and_unlocked_as_a_program_reads_it(sample: Path) -> None:
    assert run("sheet", sample, "--shot", "020").code == ExitCode.DONE
    for command, last in (
        (("lock", "--upto", "12"), 12),
        (("unlock", "--from", "11", "--to", "12"), 10),
        (("refilm", "--from", "9", "--to", "10", "--reason", "the lamp fell over"), 8),
    ):
        done = run(command[0], sample, "020", *command[1:], "--json")
        assert (done.code, done.err) == (ExitCode.DONE, "")
        answer = json.loads(done.out)
        shown = json.loads(run("filmed", sample, "--shot", "020", "--json").out)["shots"]
        assert answer["shots"] == shown
        assert answer["done"]
        assert shown[0]["filmed"] == [[1, last]]


def test_refilm_needs_a_reason(sample: Path) -> None:
    refused = run("refilm", sample, "010", "--upto", 9)
    assert refused.code == ExitCode.USAGE
    assert "--reason" in refused.err


def test_a_production_that_cannot_be_written(sample: Path) -> None:
    assert run("sheet", sample, "--shot", "010").code == ExitCode.DONE
    (sample / "filmed").write_text("a file stands here")
    refused = run("lock", sample, "010", "--upto", 9)
    assert refused.code == ExitCode.INPUT
    assert "filmed: a file stands where a folder is needed; move it" in refused.err
