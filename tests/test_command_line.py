"""The command line as its users meet it: answers, sentences, exit codes, and nothing half-written."""

import json
import os
import re
import shutil
from collections.abc import Callable
from pathlib import Path

import numpy as np
import pytest
import soundfile
from pypdf import PdfReader

from lipsync.app.cli import COMMANDS
from lipsync.errors import ExitCode
from lipsync.production.values import shipped
from tests.running import run

SCENE = "scenes/02-post-office.toml"


def replace(file: Path, old: str, new: str) -> None:
    text = file.read_text(encoding="utf-8")
    assert text.count(old) == 1, f"{old!r} stands {text.count(old)} times in {file.name}"
    file.write_text(text.replace(old, new), encoding="utf-8")


def sheets(folder: Path) -> list[str]:
    return sorted(path.relative_to(folder / "sheets").as_posix() for path in (folder / "sheets").rglob("*.*"))


def texts(file: Path) -> list[str]:
    return [" ".join(page.extract_text().split()) for page in PdfReader(file).pages]


def no_leftovers(folder: Path) -> bool:
    return not [path for path in folder.rglob(".lipsync-*")]


def test_help_says_what_each_command_is_for() -> None:
    told = run("--help")
    assert told.code == ExitCode.DONE
    for command in ("new", "breakdown", "sheet", "count", "demo"):
        assert f"  {command} " in told.out
        own = run(command, "--help")
        assert own.code == ExitCode.DONE
        assert own.out.startswith(f"Usage: lipsync {command} ")
    assert "..." not in told.out.split("Commands:")[1]  # each is said whole


def test_h_is_help() -> None:
    for command in ((), ("sheet",), ("check-print",)):
        assert run(*command, "-h").out == run(*command, "--help").out != ""


def test_the_shell_completes_commands_and_options() -> None:
    """As the script that `--install-completion` writes asks for it (click's and typer's form for bash)."""

    def completed(*words: str) -> set[str]:
        asked = {"_LIPSYNC_COMPLETE": "complete_bash", "COMP_WORDS": " ".join(["lipsync", *words])}
        return set(run(env={**os.environ, **asked, "COMP_CWORD": str(len(words))}).out.split())

    assert completed("un") == {"unlock"}
    assert completed("ch") == {"chart", "check", "check-print"}
    assert completed("track", "--s") == {"--scene", "--shot"}


def test_help_loads_no_engine() -> None:
    """`--help` answers at once because nothing heavy is imported; this holds the reason, not the time."""
    import subprocess
    import sys

    script = (
        "import sys; sys.argv = ['lipsync', '--help']\n"
        "from lipsync.app.cli import main\n"
        "try:\n    main()\nexcept SystemExit:\n    pass\n"
        "heavy = {'numpy', 'pocketsphinx', 'pydantic', 'reportlab', 'soundfile', 'soxr', 'pydub', 'nltk', 'g2p_en',\n"
        "         'rich', 'num2words', 'praatio', 'PIL', 'scipy'}\n"
        "print('loaded:', sorted(heavy & set(sys.modules)))"
    )
    done = subprocess.run([sys.executable, "-c", script], capture_output=True, text=True, check=True)
    assert done.stdout.splitlines()[-1] == "loaded: []"


def test_an_unknown_option_is_a_usage_fault() -> None:
    assert run("sheet", "--colour", "red").code == ExitCode.USAGE


def test_new_starts_a_production_that_can_be_printed_at_once(tmp_path: Path) -> None:
    made = run("new", tmp_path / "film", "--title", 'The "Long" Šťastný Pier')
    assert made.code == ExitCode.DONE
    assert [Path(line).name for line in made.out.splitlines()] == ["production.toml", "first.toml"]
    printed = run("sheet", tmp_path / "film")
    told = f"{tmp_path / 'film/scenes'}: no shot has a line yet; write each into its shot, under [[shot.line]]\n"
    assert (printed.code, printed.err) == (ExitCode.DONE, told)
    assert sheets(tmp_path / "film") == ["first/010.pdf"]


def test_new_leaves_a_folder_alone_that_holds_something(tmp_path: Path) -> None:
    (tmp_path / "notes.txt").write_text("mine")
    refused = run("new", tmp_path)
    assert refused.code == ExitCode.INPUT
    assert refused.err == f"{tmp_path}: is already there and not empty; name a new folder, nothing was changed\n"
    assert [path.name for path in tmp_path.iterdir()] == ["notes.txt"]


def test_new_goes_on_with_what_it_began_and_reads_nothing_that_is_foreign(tmp_path: Path) -> None:
    film = tmp_path / "film"
    run("new", film)
    whole = {path: path.read_bytes() for path in film.rglob("*.toml")}
    (film / "production.toml").unlink()
    (film / ".git").mkdir()  # of another program, and no concern of ours
    assert run("new", film).code == ExitCode.DONE
    assert {path: path.read_bytes() for path in film.rglob("*.toml")} == whole
    for name, foreign in (("photos", Path.mkdir), ("scenes/more", Path.mkdir), ("recordings/pipe", os.mkfifo)):
        (film / "production.toml").unlink()
        foreign(film / name)
        assert run("new", film).code == ExitCode.INPUT, name
        (film / name).rmdir() if (film / name).is_dir() else (film / name).unlink()
        assert run("new", film).code == ExitCode.DONE


def test_demo_leaves_a_production_of_ones_own_alone(tmp_path: Path) -> None:
    run("new", tmp_path / "film")
    refused = run("demo", tmp_path / "film")
    assert refused.code == ExitCode.INPUT
    assert "is not the sample production; name another" in refused.err
    assert not (tmp_path / "film/sheets").exists()


def test_sheet_prints_each_shot_and_names_the_files(sample: Path) -> None:
    printed = run("sheet", sample)
    assert (printed.code, printed.err) == (ExitCode.DONE, "")
    expected = ["01-lamp-room/010.pdf", "01-lamp-room/020.pdf", "02-post-office/030.pdf", "02-post-office/040.pdf"]
    assert sheets(sample) == expected
    assert printed.out.split("\n")[:-1] == [str(sample / "sheets" / name) for name in expected]


def test_one_shot_is_printed_as_it_is_among_all(sample: Path, tmp_path: Path) -> None:
    run("sheet", sample)
    assert run("sheet", sample, "--shot", "030", "--out", tmp_path / "one").code == ExitCode.DONE
    (alone,) = (tmp_path / "one").rglob("*.pdf")
    assert alone.read_bytes() == (sample / "sheets/02-post-office/030.pdf").read_bytes()


def test_the_same_production_elsewhere_gives_the_same_bytes(sample: Path, tmp_path: Path) -> None:
    other = tmp_path / "elsewhere" / "under another name"
    shutil.copytree(sample, other)
    for folder in (sample, other):
        assert run("sheet", folder).code == ExitCode.DONE
        assert run("count", folder).code == ExitCode.DONE
    assert sheets(sample) == sheets(other)
    for name in sheets(sample):
        assert (sample / "sheets" / name).read_bytes() == (other / "sheets" / name).read_bytes()


def test_count_is_told_on_screen_as_csv_and_as_json(sample: Path) -> None:
    counted = run("count", sample)
    assert counted.code == ExitCode.DONE
    told = json.loads(run("count", sample, "--json").out)
    table = (sample / "sheets/count.csv").read_text(encoding="utf-8-sig").splitlines()
    numbers = "frames_seen,times_fitted,scenes,pieces_needed"
    assert table[0] == f"character,code,name,{numbers},film,dated,read_first"
    assert all(row.endswith(",Low Tide Post,2026-11-24,") for row in table[1:])
    assert len(table) - 1 == len(told["pieces"])
    # What is on camera, from the scene files.
    frames = {"heron": 0, "crab": 0}
    for row in told["pieces"]:
        frames[row["character"]] += row["frames_seen"]
        # By the plan both herons are at work for some days; each piece has a spare. LIFT and POUT are worn by one.
        boards = {"heron": 2, "crab": 1}[row["character"]]
        assert row["pieces_needed"] == 1 + (1 if row["code"] in ("LIFT", "POUT") else boards)
    assert frames == {"heron": 192 + 192 + 300, "crab": 192 + 204 + 60 + 192}


def test_breakdown_is_told_as_json_with_every_phoneme(sample: Path) -> None:
    told = json.loads(run("breakdown", sample, "--json").out)
    assert len(told["lines"]) == 11
    assert told["not_done"] == []
    for line in told["lines"]:
        spoken = [p for part in line["parts"] if "word" in part for p in part["phonemes"]]
        assert spoken
        assert all(p["start_s"] < p["end_s"] for p in spoken)


def test_corrections_survive_a_textgrid_there_and_back(sample: Path) -> None:
    run("breakdown", sample, "--textgrid")
    grid = sample / "breakdowns/01-lamp-room/020-c.TextGrid"
    kept = sample / "breakdowns/01-lamp-room/020-c.toml"
    text = grid.read_text(encoding="utf-8")
    assert "Oops" in text
    grid.write_text(text.replace("Oops", "Whoops"), encoding="utf-8")
    assert run("breakdown", sample, "--import", grid).code == ExitCode.DONE
    assert "[[corrected]]" in kept.read_text(encoding="utf-8")
    again = run("breakdown", sample, "--again", "--shot", "020", "--json")
    (line,) = [line for line in json.loads(again.out)["lines"] if line["line"] == "020-c"]
    assert line["parts"][0]["word"] == "Whoops"
    assert line["state"] == "corrected"


def _silence(file: Path) -> None:
    soundfile.write(file, np.zeros(16000, np.int16), 16000)


# What is broken -> how, and what the one sentence says; each breaks a line of its own.
BROKEN_LINES: dict[str, tuple[Callable[[Path], object], str]] = {
    "010-a": (lambda f: (f / "recordings/010-a.wav").unlink(), "does not exist"),
    "010-b": (lambda f: (f / "recordings/010-b.wav").write_bytes(b""), "is empty"),
    "020-a": (lambda f: (f / "recordings/020-a.wav").write_text("the tide is out"), "cannot be read as sound"),
    "020-b": (lambda f: _silence(f / "recordings/020-b.wav"), "silence"),
    "040-b": (
        lambda f: soundfile.write(f / "recordings/040-b.wav", np.full(160, 900, np.int16), 16000),
        "lasts 10 ms",
    ),
    "040-a": (
        lambda f: replace(f / SCENE, "She moved to Skerrivane, above the chip shop.", " - ... - "),
        "holds no word",
    ),
    "030-a": (lambda f: replace(f / SCENE, "out = 5.1", "out = 5100.0"), "after the end"),
    "040-c": (lambda f: replace(f / SCENE, "[laugh] You forget", "[yodel] You forget"), "yodel"),
}


def test_a_newer_computation_that_waits_is_told_at_each_run(with_short_shots: Path) -> None:
    folder = with_short_shots  # no voice is found from the line in shot 050, so that none is found again
    replace(folder / "breakdowns/03-harbour/050-a.toml", "checked = false", "checked = true")
    scene = folder / "scenes/03-harbour.toml"
    scene.write_text(scene.read_text("utf-8").replace("My foot is blue.", "Your foot is blue.", 1), "utf-8")
    for _ in range(2):
        told = run("breakdown", folder, "--shot", "050")
        assert told.code == ExitCode.DONE
        assert f"take it with lipsync breakdown {folder} --take-new 050-a" in told.err
    taken = run("breakdown", folder, "--shot", "050", "--take-new", "050-a", "--json")
    assert "--take-new" not in taken.err
    (line,) = [line for line in json.loads(taken.out)["lines"] if line["line"] == "050-a"]
    assert [part["word"] for part in line["parts"]] == ["Oops", "Your", "foot", "is", "blue"]


def test_broken_lines_are_told_in_one_sentence_each_and_the_others_are_done(sample: Path) -> None:
    for break_it, _ in BROKEN_LINES.values():
        break_it(sample)
    printed = run("sheet", sample)
    assert printed.code == ExitCode.PARTLY
    # Where a line's text is broken, the pronunciation of its word is in none any more, and that is told too.
    *lines, last = [line for line in printed.err.splitlines() if "'skerrivane' is in no line" not in line]
    assert len(lines) == len(BROKEN_LINES), printed.err
    for name, (_, sentence) in BROKEN_LINES.items():
        (told,) = (line for line in lines if f'[[line]] "{name}"' in line)
        assert told.startswith(str(sample / "scenes"))
        assert sentence in told
    assert last == f"Not done: {len(BROKEN_LINES)}, as said above. Everything else is done."
    assert len(sheets(sample)) == 4
    assert no_leftovers(sample)
    # The paper says it too: what is missing from it must not be taken for silence.
    for shot in ("01-lamp-room/010", "01-lamp-room/020", "02-post-office/030", "02-post-office/040"):
        said = [page for page in texts(sample / f"sheets/{shot}.pdf") if "could not be done" in page]
        assert said, shot


def test_a_line_that_is_not_its_text_is_printed_all_doubtful_and_told_why(sample: Path) -> None:
    lobsters = "Forty thousand frozen lobsters"
    replace(sample / "production.toml", "[characters.heron]", "[characters.heron]\nvoice_factor = 1.4")
    replace(sample / SCENE, "She moved to Skerrivane, above the chip shop.", lobsters)
    replace(sample / SCENE, "I have wings.", "who on earth " * 300)
    printed = run("sheet", sample, "--scene", "02-post-office")
    assert printed.code == ExitCode.DONE
    told = {line.split(": ")[1].split('"')[3]: line for line in printed.err.splitlines() if "[[line]]" in line}
    assert sorted(told) == ["040-a", "040-c"]
    assert "all of it is doubtful: its text has more sounds than anyone could say in the time" in told["040-c"]
    assert "all of it is doubtful: its text is not what is said in the recording" in told["040-a"]
    assert all("place its words by hand" in text for text in told.values())
    pages = "".join(" ".join(texts(file)) for file in (sample / "sheets/02-post-office").glob("*.pdf"))
    assert "lobsters" in pages
    assert len(sheets(sample)) == 2


def test_overlapping_lines_of_one_character_are_told(sample: Path) -> None:
    replace(sample / SCENE, 'begins = "5.2 s"', "begins = 30")
    printed = run("sheet", sample)
    assert printed.code == ExitCode.PARTLY
    assert '[[line]] "030-b": is heard from frame' in printed.err


def test_a_line_that_runs_over_its_shot_is_told(sample: Path) -> None:
    replace(sample / SCENE, "frames = 300", "frames = 250")
    replace(sample / SCENE, "[109, 300]", "[109, 250]")
    printed = run("sheet", sample)
    assert printed.code == ExitCode.DONE
    assert "after its shot's last frame, 250" in printed.err


def test_all_faults_of_all_files_are_told_in_one_go(sample: Path) -> None:
    replace(sample / "production.toml", "frame_rate = 24", "frame_rate = 0")
    replace(sample / "production.toml", "puppets = 2 ", "puppets = -2 ")
    replace(sample / SCENE, 'begins = "5.2 s"', "begins = 900")
    replace(sample / "scenes/01-lamp-room.toml", 'title = "The lamp room"', 'title = "The lamp room')
    refused = run("sheet", sample)
    assert refused.code == ExitCode.INPUT
    assert "Traceback" not in refused.err
    for said in ("frame_rate: 0 is no frame rate", "puppets", "is not TOML here"):
        assert said in refused.err
    assert not (sample / "sheets").exists()


def test_a_folder_that_cannot_be_written_is_told(sample: Path, tmp_path: Path) -> None:
    (tmp_path / "taken").write_text("a file, not a folder")
    refused = run("sheet", sample, "--out", tmp_path / "taken")
    assert refused.code == ExitCode.OUTPUT
    assert "a file stands where a folder is needed" in refused.err
    assert "Traceback" not in refused.err


def test_no_production_is_told_with_what_to_do(tmp_path: Path) -> None:
    refused = run("sheet", tmp_path)
    assert refused.code == ExitCode.INPUT
    assert "start one with `lipsync new FOLDER`" in refused.err


def test_an_unknown_shot_names_those_there_are(sample: Path) -> None:
    refused = run("sheet", sample, "--shot", "999")
    assert refused.code == ExitCode.INPUT
    assert "holds no shot '999'; it has 010, 020, 030, 040" in refused.err


@pytest.mark.skipif(os.name == "nt", reason="signals of this kind are Unix's")
@pytest.mark.parametrize("name", ["SIGINT", "SIGTERM", "SIGHUP"])
def test_stopping_from_the_keyboard_or_by_the_system_keeps_what_is_finished(sample: Path, name: str) -> None:
    import signal
    import subprocess
    import sys
    import time

    shutil.rmtree(sample / "breakdowns")
    process = subprocess.Popen(
        [sys.executable, "-m", "lipsync", "breakdown", str(sample)],
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        text=True,
        encoding="utf-8",
        # A run in the background ignores the signal, and whatever it starts does too.
        preexec_fn=lambda: signal.signal(signal.Signals[name], signal.SIG_DFL),
    )
    while process.poll() is None and not list(sample.glob("breakdowns/*/*.toml")):
        time.sleep(0.05)
    process.send_signal(signal.Signals[name])
    _, err = process.communicate(timeout=120)
    assert process.returncode == ExitCode.INTERRUPTED
    assert "Traceback" not in err
    assert err.splitlines()[-1] == "Stopped. What was finished is kept."
    assert 1 <= len(list(sample.glob("breakdowns/*/*.toml"))) < 11
    assert no_leftovers(sample)


def test_a_line_that_is_over_before_its_shot_begins_is_missing_from_it(sample: Path) -> None:
    """Frames are counted from first_frame: in a film that counts from 1001, 30 lies long before a shot."""
    replace(sample / "production.toml", "first_frame = 1\n", "first_frame = 1001\n")
    for scene in (sample / "scenes").glob("*.toml"):
        text = re.sub(r"on_camera = .*", "", scene.read_text("utf-8"))
        scene.write_text(re.sub(r"(?m)^begins = (\d+)", lambda at: f"begins = {int(at[1]) + 1000}", text), "utf-8")
    box = 'box of oysters."\nbegins = '
    replace(sample / SCENE, f"{box}1004\n", f"{box}950\n")
    assert run("sheet", sample).code == ExitCode.DONE  # a part of it is heard in the shot
    replace(sample / SCENE, f"{box}950\n", f"{box}850\n")
    printed = run("sheet", sample)
    assert printed.code == ExitCode.PARTLY
    assert "before its shot begins with frame 1001; let it begin later: frames are counted from 1001" in printed.err
    said = "030-a could not be done, and is missing here"
    assert any(said in page for page in texts(sample / "sheets/02-post-office/030.pdf"))


def test_a_pronunciation_of_a_word_in_no_line_is_told(sample: Path) -> None:
    replace(sample / "production.toml", "[pronunciations]\n", '[pronunciations]\nPlumbeck = "P L AH1 M B EH2 K"\n')
    first = run("breakdown", sample)
    assert first.code == ExitCode.DONE
    assert first.err.splitlines() == [
        f"{sample / 'production.toml'}: [pronunciations]: 'plumbeck' is in no line; write it as the lines do, or take"
        " it out"
    ]


def test_settings_that_do_not_go_together_are_named_with_their_set(sample: Path) -> None:
    with (sample / "production.toml").open("a", encoding="utf-8") as file:
        file.write("\n[fitting.hold]\nlongest = 6\n")
    (sample / "mouthsets").mkdir(exist_ok=True)
    text = (shipped("mouthsets") / "tideline.toml").read_text(encoding="utf-8")
    (sample / "mouthsets/tideline.toml").write_text(f"{text}\n[fitting.hold]\nshortest = 8\n", encoding="utf-8")
    done = run("sheet", sample)
    assert (done.code, done.out) == (ExitCode.INPUT, "")
    assert done.err == (
        f"{sample}/production.toml: [fitting] [hold]: with the settings of its own that the mouth set Tideline has: "
        "shortest: found 8, above longest, 6; write at most that\n"
    )


def test_a_cue_that_a_person_wrote_and_no_mouth_has_is_named(sample: Path) -> None:
    path = sample / "breakdowns/01-lamp-room/010-b.toml"
    path.write_text(path.read_text(encoding="utf-8").replace('cue = "breath"', 'cue = "croak"'), encoding="utf-8")
    done = run("sheet", sample)
    assert done.code == ExitCode.PARTLY
    assert f"{path}: cue 'croak': [croak] is no cue of the character's mouth set; it has breath" in done.err
    assert "Traceback" not in done.err
    assert (sample / "sheets/01-lamp-room/020.pdf").exists()


def test_a_broken_file_of_voices_is_told_once(sample: Path) -> None:
    (sample / "voices.toml").write_text("form = 1", encoding="utf-8")
    done = run("count", sample)
    assert (done.code, done.out) == (ExitCode.INPUT, "")
    assert done.err.count("voices.toml") == 1


@pytest.mark.parametrize(
    ("found", "instead", "message"),
    [
        ('begins = "3.25 s"', 'begins = "3_25 s"', "begins: '3_25' is no number of seconds; write one such as 1.5"),
        ("begins = 7", 'begins = 7\nin = "0.1"', "in: '0.1' is no point of a recording; write seconds"),
        ("begins = 7", "begins = 7\nin = true", "in: true is no point of a recording; write seconds"),
    ],
)
def test_seconds_are_numbers_as_people_write_them(sample: Path, found: str, instead: str, message: str) -> None:
    path = sample / "scenes/01-lamp-room.toml"
    path.write_text(path.read_text(encoding="utf-8").replace(found, instead, 1), encoding="utf-8")
    done = run("sheet", sample)
    assert (done.code, done.out) == (ExitCode.INPUT, "")
    assert message in done.err


def test_a_scenes_count_leaves_the_films_count_alone(sample: Path) -> None:
    assert run("count", sample).code == ExitCode.DONE
    whole = (sample / "sheets/count.csv").read_bytes()
    done = run("count", sample, "--scene", "01-lamp-room")
    assert done.code == ExitCode.DONE
    assert done.out.splitlines()[-2:] == [
        str(sample / f"sheets/count-01-lamp-room.{kind}") for kind in ("pdf", "csv")
    ]
    assert (sample / "sheets/count.csv").read_bytes() == whole
    assert (sample / "sheets/count-01-lamp-room.csv").read_bytes() != whole


@pytest.mark.parametrize(
    "command",
    [("order",), ("count",), ("chart",), ("weigh", "01-lamp-room"), ("worth", "heron"),
     ("side-by-side", "01-lamp-room", "--mouth-set", "heron=driftwood")],
)  # fmt: skip
def test_words_of_the_studio_that_cannot_be_printed_are_all_named(sample: Path, command: tuple[str, ...]) -> None:
    with (sample / "production.toml").open("a", encoding="utf-8") as file:
        file.write('\n[sheet.words]\nfittings = "安装"\ncode = "编号"\n')
    done = run(command[0], sample, *command[1:])
    assert (done.code, done.out) == (ExitCode.INPUT, "")
    for name, text in (("fittings", "安装"), ("code", "编号")):
        assert f"[sheet.words] {name}, {text!r} has letters that cannot be printed" in done.err


def test_a_line_whose_breakdown_is_broken_is_told_by_every_question_about_its_shot(sample: Path) -> None:
    path = sample / "breakdowns/01-lamp-room/010-b.toml"
    whole = path.read_text(encoding="utf-8")
    assert run("sheet", sample).code == ExitCode.DONE
    for broken in ("this is no TOML", whole.replace('cue = "breath"', 'cue = "croak"')):
        path.write_text(broken, encoding="utf-8")
        for command in (("why", "010", "48"), ("compare", "010"), ("track", "--shot", "010")):
            done = run(command[0], sample, *command[1:])
            assert done.code == ExitCode.PARTLY, command
            assert str(path) in done.err
        assert run("why", sample, "020", "48").err == ""


def test_a_command_finds_its_options_whatever_stands_before_or_behind_it(tmp_path: Path) -> None:
    """Only the command asked for has its options read: each has them in its help, and a path may have its name."""
    for name in COMMANDS:
        assert "--help" in run(name, "--help").out, name
        assert f" {name} " in run(name, "--help").out
    assert run("new", "count", cwd=tmp_path).code == ExitCode.DONE
    assert run("filmed", "count", cwd=tmp_path).code == ExitCode.DONE
    assert "No such command 'nonsense'" in run("nonsense", "sheet").err
