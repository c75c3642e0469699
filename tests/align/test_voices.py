"""Which voice factor a production's line is heard with: its own, its character's by hand, or what was found once."""

import re
import shutil

import pytest

from lipsync.app import hearing
from lipsync.app.heard import Only
from lipsync.app.hearing import hear
from lipsync.app.voices import voice_factor
from lipsync.errors import InputError
from lipsync.production.loading import open_production

LAMP = "scenes/01-lamp-room.toml"


@pytest.fixture
def production(sample_folder, tmp_path):
    """A copy of the sample that can be changed: the folder, and a function that writes into a scene's line."""
    folder = shutil.copytree(sample_folder, tmp_path / "film")

    def write(line, value, file=LAMP):
        path = folder / file
        text = path.read_text("utf-8")
        assert f'id = "{line}"\n' in text
        path.write_text(text.replace(f'id = "{line}"\n', f'id = "{line}"\nvoice_factor = {value}\n'), "utf-8")

    return folder, write


@pytest.fixture
def asked(monkeypatch):
    """The factor of each line, by its text, and the texts of the lines that each voice is found from."""
    factors, searched = {}, []

    def listen_to(recording, text, settings):
        factors[text] = settings.voice_factor
        raise hearing.LineError.one(recording.path, "text", "is not listened to here")

    def voice_factor_of(lines):
        searched.append([text for _, text, _ in lines])
        assert all(settings.voice_factor is None for *_, settings in lines)
        return 1.25

    monkeypatch.setattr(hearing, "listen_to", listen_to)
    monkeypatch.setattr(hearing, "voice_factor_of", voice_factor_of)
    return factors, searched


def test_a_line_of_its_own_voice(production, asked):
    folder, write = production
    factors, searched = asked
    write("010-a", 1.5)
    own = open_production(folder)
    (shot,) = [shot for _, shot in own.shots(None, "010")]
    first = next(line for line in shot.line if line.id == "010-a")
    hear(own, Only(shot="010"))
    assert factors[first.text] == 1.5
    assert {factor for text, factor in factors.items() if text != first.text} == {1.25}
    assert all(first.text not in texts for texts in searched)  # not among those that tell the character's voice


def test_a_voice_is_found_once_and_kept(production, asked):
    folder, _ = production
    _, searched = asked
    hear(open_production(folder))
    assert len(searched) == 2  # the heron's and the crab's
    assert all(len(texts) <= 4 for texts in searched)
    hear(open_production(folder))
    assert len(searched) == 2
    assert "voice_factor = 1.25" in (folder / "voices.toml").read_text("utf-8")


def test_a_voice_that_was_found_meanwhile_is_kept_too(production, asked, monkeypatch):
    """Two listen at once: while the heron's voice is looked for, another run finds the crab's."""
    folder, _ = production
    own, searched = open_production(folder), []

    def find(production_, character):
        searched.append(character)
        if character == "heron":
            voice_factor(own, "crab", find)
        return (1.25 if character == "heron" else 1.32), ("010-a",)

    assert voice_factor(own, "heron", find) == 1.25
    assert voice_factor(own, "crab", find) == 1.32
    assert searched == ["heron", "crab"]


def test_lines_of_cues_alone_are_not_read_to_find_a_voice(production, asked, monkeypatch):
    folder, _ = production
    text = (folder / LAMP).read_text("utf-8")
    (folder / LAMP).write_text(re.sub(r'(?m)^text = ".*"$', 'text = "[laugh]"', text), "utf-8")
    read, real = [], hearing.read_recording
    monkeypatch.setattr(hearing, "read_recording", lambda *a, **k: read.append(a[0]) or real(*a, **k))
    hear(open_production(folder), Only(scene="01-lamp-room"))
    lines = sum(len(shot.line) for _, shot in open_production(folder).shots("01-lamp-room", None))
    assert len([path for path in read if "post" not in str(path)]) <= lines + 8  # each once, and eight for voices


@pytest.mark.parametrize("value", ["0.4", "2.1", '"high"', "nan"])
def test_a_factor_outside_sense(production, value):
    folder, write = production
    write("010-a", value)
    with pytest.raises(InputError, match=r'01-lamp-room\.toml: .*\[\[line\]\] 1 "010-a" voice_factor: found'):
        open_production(folder)


def test_what_is_said_of_it(production):
    folder, write = production
    write("010-a", 50)
    with pytest.raises(InputError, match=r"found 50; .*2") as caught:
        open_production(folder)
    assert len(caught.value.problems) == 1


def test_a_cue_nobody_knows(production, asked):
    folder, _ = production
    scene = folder / LAMP
    scene.write_text(scene.read_text("utf-8").replace('text = "', 'text = "[yodel] ', 1), "utf-8")
    problems = [str(problem) for problem in hear(open_production(folder), Only(shot="010")).report.problems]
    (told,) = (problem for problem in problems if "yodel" in problem)
    assert "01-lamp-room.toml" in told
    assert "text: [yodel] is no cue of the character's mouth set; it has breath" in told
