"""The sample production: it loads, and it holds one of each thing that a production may have."""

import json
import os
import re
import shutil
import subprocess
import sys
import tomllib
from fractions import Fraction
from itertools import pairwise
from pathlib import Path

import numpy as np
import pytest
import soundfile

from lipsync import timing
from lipsync.phonemes import PHONEMES
from lipsync.production.loading import open_production
from lipsync.text.dictionary import pronounce
from lipsync.text.script import CueToken, SpokenWord, tokens_of

FOLDER = Path(__file__).parents[2] / "sample_audio"
PRODUCTION = open_production(FOLDER)
SHOTS = {shot.id: shot for scene in PRODUCTION.scenes for shot in scene.shots}
LINES = {line.id: line for shot in SHOTS.values() for line in shot.line}
SHOT_OF = {line.id: shot for shot in SHOTS.values() for line in shot.line}
LABELS = {row["id"]: row for row in map(json.loads, (FOLDER / "labels.jsonl").read_text("utf-8").splitlines())}


def heard(line):
    """First and last moment in the shot at which a line's words and cues are heard, from the exact labels."""
    spans = [*LABELS[line.id]["words"], *LABELS[line.id]["cues"]]
    begins_s = PRODUCTION.begins_us(line, SHOT_OF[line.id]) / 1e6
    return begins_s + min(start for _, start, _ in spans), begins_s + max(end for _, _, end in spans)


def words(line):
    return [token for token in tokens_of(line.text) if isinstance(token, SpokenWord)]


def test_it_has_characters_shots_and_lines_enough():
    assert PRODUCTION.rate == 24
    assert PRODUCTION.file.first_frame == 1
    assert PRODUCTION.file.dated
    assert [c.puppets for c in PRODUCTION.file.characters.values()] == [2, 1]
    assert len(PRODUCTION.scenes) == 2
    assert len(SHOTS) >= 3
    assert len(LINES) >= 9
    assert {line.character for line in LINES.values()} == set(PRODUCTION.file.characters)
    assert 25 <= sum(shot.frames for shot in SHOTS.values()) / 24 <= 40


def test_both_mouth_sets_are_worn():
    assert {mouth_set.name for mouth_set in PRODUCTION.mouth_sets.values()} == {"Tideline", "Driftwood"}


def test_in_one_shot_both_speak_partly_at_once():
    at_once = []
    for shot in SHOTS.values():
        spans = [(line.character, *heard(line)) for line in shot.line]
        for one, start, end in spans:
            at_once += [shot.id for other, s, e in spans if other != one and max(s, start) + 0.2 < min(e, end)]
    assert set(at_once) >= {"020", "040"}


def test_every_line_is_heard_whole_within_its_shot_and_none_over_the_same_character():
    for shot in SHOTS.values():
        spans = sorted((line.character, *heard(line)) for line in shot.line)
        for character, start, end in spans:
            assert 0 <= start < end <= shot.frames / 24
            assert all(s >= end for other, s, _ in spans if other == character and s > start)


def test_one_name_only_the_network_can_pronounce():
    own = PRODUCTION.file.pronunciations
    guessed = {
        word.text
        for line in LINES.values()
        for word in words(line)
        if {found.origin for found in pronounce(word, own)} == {"guess"}
    }
    assert guessed == {"Pomfleby"}


def test_one_name_the_production_pronounces():
    own = PRODUCTION.file.pronunciations
    said = {w.text for line in LINES.values() for w in words(line) if pronounce(w, own)[0].origin == "production"}
    assert said == {"Skerrivane"}


def test_cues_a_number_and_a_typographic_apostrophe_are_in_the_text():
    cues = {token.name for line in LINES.values() for token in tokens_of(line.text) if isinstance(token, CueToken)}
    assert cues == {"breath", "laugh"}
    text = " ".join(line.text for line in LINES.values())
    assert re.search(r"\b42\b", text)
    assert "’" in text


def test_one_character_is_off_camera_for_some_frames_and_rests_on_its_own_shape():
    off = {
        (shot.id, character): PRODUCTION.on_camera(character, shot).count(False)
        for shot in SHOTS.values()
        for character in shot.speakers
    }
    assert {key: frames for key, frames in off.items() if frames} == {("040", "crab"): 48}
    assert SHOTS["040"].characters["crab"].rests_on == "slot"


def test_lines_begin_at_a_frame_at_a_second_and_at_a_timecode():
    written = [line.begins for line in LINES.values()]
    assert any(isinstance(begins, int) for begins in written)
    assert any(str(begins).endswith(" s") for begins in written)
    assert any(":" in str(begins) for begins in written)
    # By hand: 4 s and 4 frames after the shot's start of 01:00:00:00; frame 7 is the seventh, so 6/24 s in.
    assert PRODUCTION.begins_us(LINES["010-b"], SHOTS["010"]) == timing.frame_start_us(100, Fraction(24))
    assert PRODUCTION.begins_us(LINES["010-a"], SHOTS["010"]) == 250_000
    assert PRODUCTION.begins_us(LINES["020-b"], SHOTS["020"]) == 3_250_000


def test_each_shot_starts_where_the_one_before_ends():
    shots = list(SHOTS.values())
    ends = [PRODUCTION.start_frame(shot)[0] + shot.frames for shot in shots]
    assert [PRODUCTION.start_frame(shot)[0] for shot in shots[1:]] == ends[:-1]
    assert PRODUCTION.start_frame(shots[0])[0] == 24 * 3600


def test_one_recording_holds_two_lines():
    recordings = [line.recording for line in LINES.values()]
    assert [name for name in set(recordings) if recordings.count(name) == 2] == ["recordings/030.wav"]
    first, second = LINES["030-a"], LINES["030-b"]
    assert (first.in_us, first.out_us, second.in_us) == (0, 5_100_000, 5_100_000)


def test_recordings_are_16_bit_mono_and_small_and_all_are_used():
    files = sorted((FOLDER / "recordings").glob("*.wav"))
    assert {f"recordings/{file.name}" for file in files} == {line.recording for line in LINES.values()}
    for file in files:
        info = soundfile.info(file)
        assert (info.subtype, info.channels) == ("PCM_16", 1)
        assert info.samplerate in (16_000, 22_050)
    assert sum(file.stat().st_size for file in files) < 2_500_000


@pytest.mark.parametrize("id", LINES)
def test_labels_follow_the_lines(id):
    line, row = LINES[id], LABELS[id]
    assert (row["wav"], row["text"]) == (line.recording, line.text)
    assert (row.get("in"), row.get("out")) == tuple(
        None if us is None else us / 1e6 for us in (line.in_us, line.out_us)
    )
    phones = row["phones"]
    assert {phone for phone, _, _ in phones} <= {*PHONEMES, "SIL"}
    assert phones[0][1] == 0
    assert all(before[2] == after[1] for before, after in pairwise(phones))
    assert all(start < end for _, start, end in phones)
    edges = {start for _, start, _ in phones} | {end for _, _, end in phones}
    assert all(start in edges and end in edges for _, start, end in row["words"])


def test_labels_hold_every_phoneme_of_english():
    assert {phone for row in LABELS.values() for phone, _, _ in row["phones"]} == {*PHONEMES, "SIL"}


@pytest.mark.parametrize("id", LABELS)
def test_where_the_labels_say_silence_the_recording_is_silent(id):
    # Heard independently of flite's own times: at least 25 dB below the words (chosen; it is 35 to 65).
    row = LABELS[id]
    sound, rate_hz = soundfile.read(FOLDER / row["wav"])

    def level_db(start, end):
        part = sound[round((start + row.get("in", 0)) * rate_hz) : round((end + row.get("in", 0)) * rate_hz)]
        return 20 * np.log10(np.sqrt(np.mean(part**2)) + 1e-9)

    spoken = np.median([level_db(start, end) for _, start, end in row["words"]])
    cues = [(start, end) for _, start, end in row["cues"]]
    for phone, start, end in row["phones"]:
        if phone != "SIL":
            continue
        if cues:
            # The cue stands inside the first silence: look after it only.
            start, cues = cues[0][1] + 0.02, []
        # 10 ms at each edge belong to the sounds beside it.
        assert level_db(start + 0.01, end - 0.01) < spoken - 25, (start, end)
    for _, start, end in row["cues"]:
        assert level_db(start, end) > spoken - 20


def test_no_file_holds_a_path_of_a_machine_or_a_name_from_elsewhere():
    for file in [*FOLDER.glob("*.*"), *FOLDER.glob("scenes/*")]:
        text = file.read_text("utf-8")
        assert not re.search(r"""(?:^|[\s"'(])(?:/\w+/|[A-Z]:\\)""", text), file  # an absolute path
    for file in FOLDER.glob("recordings/*.wav"):
        assert soundfile.info(file).extra_info.count("LIST") == 0


def test_files_are_toml_in_utf_8_with_plain_line_ends():
    for file in [FOLDER / "production.toml", *FOLDER.glob("scenes/*.toml")]:
        raw = file.read_bytes()
        assert b"\r" not in raw
        assert tomllib.loads(raw.decode("utf-8"))


def test_made_again_it_is_the_same(tmp_path):
    if not shutil.which("flite") and "CI" not in os.environ:
        pytest.skip("the program flite is not installed; apt-get install flite, to check that make.py makes the same")
    said = subprocess.run(["flite", "--version"], capture_output=True, text=True, check=False)  # it returns 1
    if "flite-2.2" not in said.stdout + said.stderr:
        pytest.skip("the recordings were made with flite 2.2, and another version is installed")
    subprocess.run([sys.executable, FOLDER / "make.py", tmp_path], check=True, capture_output=True)
    assert (tmp_path / "labels.jsonl").read_bytes() == (FOLDER / "labels.jsonl").read_bytes()
    for file in FOLDER.glob("recordings/*.wav"):
        ours, rate_hz = soundfile.read(file, dtype="int16")
        again, rate_again_hz = soundfile.read(tmp_path / "recordings" / file.name, dtype="int16")
        assert rate_hz == rate_again_hz
        assert len(ours) == len(again)
        # Another kind of processor may round a resampled sample the other way.
        assert np.abs(ours.astype(int) - again).max() <= 1, file.name
