"""`lipsync check`: every fault and all that is odd of a production, in one go, and nothing is listened to."""

from __future__ import annotations

import json
import shlex
import shutil
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

import pytest

from lipsync.align import line
from lipsync.app.checking import CheckedProduction, check
from lipsync.breakdown import breakdown_file
from lipsync.breakdown.corrections import PieceChoice
from lipsync.errors import ExitCode
from lipsync.fit.mouthset import load_mouth_set
from lipsync.fit.sense import oddities
from lipsync.production.values import shipped
from tests.running import run

SCENE = "scenes/01-lamp-room.toml"


def kinds(checked: CheckedProduction) -> set[str]:
    return {one.kind for one in checked.oddities}


def swap(path: Path, was: str, now: str) -> None:
    text = path.read_text("utf-8")
    assert was in text, was
    path.write_text(text.replace(was, now, 1), "utf-8")


def own_set(sample: Path) -> Path:
    (sample / "mouthsets").mkdir(exist_ok=True)
    return Path(shutil.copy(shipped("mouthsets") / "tideline.toml", sample / "mouthsets"))


@pytest.mark.parametrize("name", ["tideline", "driftwood"])
def test_the_sets_that_ship_are_sound(name) -> None:
    assert list(oddities(load_mouth_set(shipped("mouthsets") / f"{name}.toml"))) == []


def test_the_sample_has_no_fault_and_nothing_is_listened_to(sample, monkeypatch) -> None:
    monkeypatch.setattr(line, "listen_to", lambda *_: pytest.fail("listened"))
    before = {path: path.stat().st_mtime_ns for path in sample.rglob("*")}
    checked = check(sample)
    assert checked.faults == ()
    assert kinds(checked) <= {"words in doubt", "words guessed", "pronunciation of no line", "mostly doubtful"}
    assert {path: path.stat().st_mtime_ns for path in sample.rglob("*")} == before


# What is done to the sample -> the kind of message that must then be told.
def _unused_set(sample: Path) -> None:
    own_set(sample).rename(sample / "mouthsets" / "gull.toml")


def _unused_picture(sample: Path) -> None:
    own_set(sample)
    (sample / "mouthsets" / "left-over.png").write_bytes(b"")


def _unused_recording(sample: Path) -> None:
    shutil.copy(next((sample / "recordings").glob("*.wav")), sample / "recordings" / "left-over.wav")


def _unused_breakdown(sample: Path) -> None:
    kept = next((sample / "breakdowns" / "01-lamp-room").glob("*.toml"))
    shutil.copy(kept, kept.with_name("999-z.toml"))


def _renamed_scene(sample: Path) -> None:
    (sample / SCENE).rename((sample / SCENE).with_name("01-lamps.toml"))
    main = sample / "production.toml"
    main.write_text(main.read_text("utf-8").replace('"01-lamp-room"', '"01-lamps"'), "utf-8")


def _voice_has_changed(sample: Path) -> None:
    """Lines of its character are not told of one by one."""
    (sample / "recordings/020-a.wav").write_bytes((sample / "recordings/020-c.wav").read_bytes())


def _not_heard(sample: Path) -> None:
    next((sample / "breakdowns" / "01-lamp-room").glob("*.toml")).unlink()


def _empty_shot(sample: Path) -> None:
    with (sample / SCENE).open("a", encoding="utf-8") as scene:
        scene.write('\n[[shot]]\nid = "015"\nframes = 24\n')


def _stale_print(sample: Path) -> None:
    assert run("sheet", sample, "--shot", "020").code == ExitCode.DONE
    swap(sample / SCENE, '"3.25 s"', '"3.5 s"')


def _prints_of_no_shot(sample: Path) -> None:
    assert run("sheet", sample, "--shot", "020").code == ExitCode.DONE
    (sample / "prints/01-lamp-room/020.json").rename(sample / "prints/01-lamp-room/025.json")


def _open_closure(sample: Path) -> None:
    swap(own_set(sample), 'code = "SHUT"\nname = "shut"\nshape = "shut"\nlips = { opening = 0.00', OPEN_SHUT)


OPEN_SHUT = 'code = "SHUT"\nname = "shut"\nshape = "shut"\nlips = { opening = 0.30'


def _no_teeth(sample: Path) -> None:
    swap(own_set(sample), ", teeth = 0.60 }", " }")


def _sizes(sample: Path) -> None:
    swap(own_set(sample), "size = 2\nlips = { opening = 0.66", "size = 2\nlips = { opening = 0.40")


def _alike(sample: Path) -> None:
    text = own_set(sample).read_text("utf-8")
    piece = '[[piece]]\ncode = "TWIN"\nname = "twin"\nshape = "twin"\n'
    lips = "lips = { opening = 0.00, width = 0.53, rounding = 0.00 }\n\n"
    (sample / "mouthsets/tideline.toml").write_text(text.replace("[[piece]]", piece + lips + "[[piece]]", 1), "utf-8")


def _outside(sample: Path) -> None:
    swap(sample / SCENE, "frames = 192", "frames = 110")


def _choice_on_a_filmed_frame(sample: Path) -> None:
    assert run("sheet", sample, "--shot", "010").code == ExitCode.DONE
    assert run("lock", sample, "010", "--upto", "40").code == ExitCode.DONE
    path = sample / "breakdowns/01-lamp-room/010-a.toml"
    kept = breakdown_file.read(path)
    breakdown_file.write(path, replace(kept, pieces=(PieceChoice(20, "GRIT"),)))


ODD: dict[str, Callable[[Path], None]] = {
    "mouth set of nobody": _unused_set,
    "picture of no piece": _unused_picture,
    "recording of no line": _unused_recording,
    "breakdown of no line": _unused_breakdown,
    "breakdowns of no scene": _renamed_scene,
    "not heard yet": _not_heard,
    "voice has changed": _voice_has_changed,
    "shot without lines": _empty_shot,
    "print no longer good": _stale_print,
    "prints of no shot": _prints_of_no_shot,
    "closed sound on open lips": _open_closure,
    "lip not at the teeth": _no_teeth,
    "sizes not in order": _sizes,
    "pieces alike": _alike,
    "piece for nothing": _alike,
    "ends after its shot": _outside,
    "choice on a filmed frame": _choice_on_a_filmed_frame,
}


@pytest.fixture(scope="module")
def odd_before(heard_sample) -> set[str]:
    """What is odd of the sample as it is."""
    return kinds(check(heard_sample))


@pytest.mark.parametrize("kind", ODD)
def test_each_oddity_is_told(sample, odd_before, kind) -> None:
    assert kind not in odd_before
    ODD[kind](sample)
    checked = check(sample)
    assert kind in kinds(checked), [str(one) for one in (*checked.faults, *checked.oddities)]
    assert checked.faults == ()


def test_all_faults_come_in_one_go(sample) -> None:
    """Eight files are broken at once, each in its own way: each is named, with what to do."""
    assert run("sheet", sample, "--shot", "020").code == ExitCode.DONE
    (sample / "recordings/020-c.wav").unlink()
    swap(sample / "prints/01-lamp-room/020.json", '"REST"', '"SHUT"')
    (sample / "filmed/01-lamp-room").mkdir(parents=True)
    (sample / "filmed/01-lamp-room/020.toml").write_text("form = 1", "utf-8")
    kept = sorted((sample / "breakdowns/01-lamp-room").glob("*.toml"))[0]
    kept.write_text("form = [", "utf-8")
    swap(own_set(sample), "[[piece]]\n", '[[piece]]\npicture = "gone.png"\n')
    (sample / "voices.toml").write_text("form = 2", "utf-8")
    faults = [str(one) for one in check(sample).faults]
    for name in (
        "prints/01-lamp-room/020.json",
        "filmed/01-lamp-room/020.toml",
        kept.name,
        "gone.png",
        "voices.toml",
    ):
        assert any(name in text for text in faults), (name, faults)
    (sample / "voices.toml").unlink()
    assert any("020-c.wav" in str(one) for one in check(sample).faults)


def test_exit_codes_and_the_answer_for_a_program(sample) -> None:
    quiet = check(sample)
    ran = run("check", sample)
    assert ran.code == (ExitCode.PARTLY if quiet.oddities else ExitCode.DONE)
    assert ran.out == f"{sample}: 0 to mend, {len(quiet.oddities)} odd\n"
    (sample / "recordings/020-c.wav").unlink()
    ran = run("check", sample, "--json")
    assert ran.code == ExitCode.INPUT
    answer = json.loads(ran.out)
    assert answer["form"] == "lipsync check answer 1"
    assert any("020-c.wav" in f"{one}" for one in answer["not_done"])
    assert run("check", sample / "nothing").code == ExitCode.INPUT


def test_a_recording_that_is_gone_is_told_once_with_its_line_and_the_others_of_its_voice_are_not_slandered(
    sample,
) -> None:
    (sample / "recordings/020-b.wav").unlink()  # its character's voice was found from it
    checked = check(sample)
    (fault,) = checked.faults
    assert (fault.scene, fault.shot, fault.line) == ("01-lamp-room", "020", "020-b")
    assert '[[line]] "020-b"' in str(fault)
    assert "not heard yet" not in kinds(checked)
    assert [one.place for one in checked.oddities if one.kind == "voice has changed"] == ["[characters] [heron]"]


def test_a_shot_whose_id_another_scene_has_is_named_with_its_scene(sample) -> None:
    swap(sample / SCENE, 'id = "020"', 'id = "030"')
    assert run("sheet", sample).code == ExitCode.DONE
    swap(sample / SCENE, '"3.25 s"', '"3.5 s"')
    (told,) = (one for one in check(sample).oddities if one.kind == "print no longer good")
    assert told.remedy.endswith("--shot 01-lamp-room/030")
    assert run(*told.remedy.split()[3:]).code == ExitCode.DONE


def test_a_renamed_scene_is_told_of_once_and_has_all_again_when_its_folder_has_its_name(sample) -> None:
    before = {path.name: path.read_bytes() for path in (sample / "breakdowns/01-lamp-room").glob("*.toml")}
    _renamed_scene(sample)
    told = run("breakdown", sample)
    assert told.err.count("breakdowns/01-lamp-room: holds breakdowns of 5 lines") == 1
    assert "breakdown of no line" not in kinds(check(sample))
    shutil.rmtree(sample / "breakdowns/01-lamps")
    assert "not heard yet" not in kinds(check(sample))
    (sample / "breakdowns/02-post-office/030-a.toml").unlink()
    (sample / "breakdowns/01-lamp-room/030-a.toml").touch()  # of a scene that has others, it is told all the same
    assert [one.line for one in check(sample).oddities if one.kind == "not heard yet"] == ["030-a"]
    (sample / "breakdowns/01-lamp-room/030-a.toml").unlink()
    (sample / "breakdowns/01-lamp-room").rename(sample / "breakdowns/01-lamps")
    told = run("breakdown", sample)
    assert "of no scene" not in told.err
    assert {path.name: path.read_bytes() for path in (sample / "breakdowns/01-lamps").glob("*.toml")} == before


def test_commands_in_remedies_can_be_pasted_whatever_the_folder_is_called(sample) -> None:
    folder = sample.rename(sample.with_name("my film's first cut"))
    next((folder / "breakdowns/01-lamp-room").glob("*.toml")).unlink()
    (told,) = (one for one in check(folder).oddities if one.kind == "not heard yet")
    asked = shlex.split(told.remedy.removeprefix("run lipsync "))
    assert asked == ["breakdown", str(folder)]
