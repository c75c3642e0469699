"""Faults of recordings and cues are told in one go with those of files that people write; alone, of their line."""

from collections.abc import Callable
from pathlib import Path

import pytest

from lipsync.errors import InputError
from lipsync.production.loading import open_production
from lipsync.production.recording_faults import recording_faults

SCENE = "scenes/01-lamp-room.toml"
FOOT = '[[shot]] 2 "020" [[line]] 3 "020-c"'


def edit(folder: Path, old: str, new: str, file: str = SCENE) -> None:
    text = (folder / file).read_text(encoding="utf-8")
    assert text.count(old) == 1
    (folder / file).write_text(text.replace(old, new), encoding="utf-8")


def gone(folder: Path) -> None:
    (folder / "recordings/020-c.wav").unlink()


def no_sound(folder: Path) -> None:
    (folder / "recordings/020-c.wav").write_text("not a sound")


def too_long(folder: Path) -> None:
    edit(folder, 'recording = "recordings/020-c.wav"', 'recording = "recordings/020-c.wav"\nout = 99')


def no_cue(folder: Path) -> None:
    edit(folder, "Oops. My foot is blue.", "Oops. [yodel] My foot is blue.")


def no_text(folder: Path) -> None:
    edit(folder, "Oops. My foot is blue.", "...")


BROKEN: list[tuple[Callable[[Path], None], str, str]] = [
    (gone, "recording", "does not exist"),
    (no_sound, "recording", "cannot be read as sound"),
    (too_long, "recording", "out: 99.0 s lies after the end of the recording"),
    (no_cue, "text", "[yodel] is no cue of the character's mouth set"),
    (no_text, "text", "holds no word and no cue"),
]


@pytest.mark.parametrize(("break_it", "place", "said"), BROKEN, ids=lambda value: getattr(value, "__name__", None))
def test_it_is_told_beside_the_faults_of_the_files(sample: Path, break_it, place: str, said: str) -> None:
    edit(sample, "frames = 204\n", "frames = 0\n", "scenes/02-post-office.toml")
    break_it(sample)
    with pytest.raises(InputError) as caught:
        open_production(sample)
    told = [(problem.file, problem.place, problem.text) for problem in caught.value.problems]
    assert len(told) == 2
    assert told[0][0].endswith("02-post-office.toml")
    assert told[1][0].endswith("01-lamp-room.toml")
    assert told[1][1] == f"{FOOT} {place}"
    assert said in told[1][2]


@pytest.mark.parametrize(("break_it", "place", "said"), BROKEN, ids=lambda value: getattr(value, "__name__", None))
def test_alone_it_holds_up_no_production(sample: Path, break_it, place: str, said: str) -> None:
    break_it(sample)
    (problem,) = recording_faults(open_production(sample))
    assert said in problem.text


def test_a_sample_without_faults_has_none(sample: Path) -> None:
    assert list(recording_faults(open_production(sample))) == []


def test_what_is_broken_of_a_line_is_passed_over(sample: Path) -> None:
    edit(sample, 'recording = "recordings/020-c.wav"', "recording = 7")
    edit(sample, 'text = "Good evening, Miss Wade! Any messages for the boats?"', "text = 8")
    with pytest.raises(InputError) as caught:
        open_production(sample)
    assert [problem.place.rpartition(" ")[2] for problem in caught.value.problems] == ["text", "recording"]
