"""What no recording and no text should be: each is refused in one sentence that says what to do."""

import numpy as np
import pytest
import soundfile

from lipsync.errors import LineError
from lipsync.listen.line import LineSettings, listen
from lipsync.model import Breakdown

TEXT = "Who on earth is that?"
RATE = 16_000


def refusal(path, text=TEXT, settings=None):
    with pytest.raises(LineError) as caught:
        listen(path, text, settings)
    assert len(caught.value.problems) == 1
    assert caught.value.problems[0].file == str(path)
    return str(caught.value)


def attempt(path, text):
    """A line's breakdown, or why it is refused."""
    try:
        return listen(path, text)
    except LineError as error:
        return str(error)


@pytest.fixture
def put(tmp_path):
    def write(sound, name="line.wav", subtype="PCM_16"):
        soundfile.write(tmp_path / name, np.asarray(sound), RATE, subtype=subtype)
        return tmp_path / name

    return write


def noise(seconds, level=0.1, seed=1):
    return np.random.default_rng(seed).normal(size=round(seconds * RATE)) * level


def test_an_empty_file(tmp_path):
    (tmp_path / "line.wav").touch()
    assert "is empty (0 bytes)" in refusal(tmp_path / "line.wav")


def test_a_text_that_calls_itself_a_recording(tmp_path):
    (tmp_path / "line.wav").write_text("not a sound at all\n" * 1000)
    assert "cannot be read as sound" in refusal(tmp_path / "line.wav")


def test_ten_milliseconds(put):
    assert "lasts 10 ms; nothing can be heard in less than 30 ms" in refusal(put(noise(0.010)))


def test_all_zeros(put):
    assert "holds only silence" in refusal(put(np.zeros(3 * RATE)))


def test_no_numbers(put):
    sound = noise(3)
    sound[5] = np.nan
    assert "holds samples that are no numbers" in refusal(put(sound, subtype="FLOAT"))


def test_twenty_thousand_words_for_three_seconds(put):
    text = "the lamp is out " * 5000
    assert "phonemes, too many for 3 s (nobody says more than 25 in a second); check the text" in refusal(
        put(noise(3)), text
    )


def test_the_shortest_recording_that_is_read(put):
    assert "too many for 0.03 s" in refusal(put(noise(0.030)))


@pytest.mark.parametrize(
    "sound",
    [
        noise(3),
        noise(3, level=0.001),
        0.5 * np.sin(2 * np.pi * 440 * np.arange(3 * RATE) / RATE),
        np.sign(np.sin(2 * np.pi * 100 * np.arange(3 * RATE) / RATE)),
        np.where(np.arange(3 * RATE) % RATE == 0, 0.9, 0.0),
    ],
    ids=["noise", "soft noise", "tone", "square wave", "clicks"],
)
def test_what_is_no_speech(put, sound):
    text = "Evening. I have brought you forty two letters and a parcel."
    outcome = attempt(put(sound), text)
    if isinstance(outcome, str):
        assert "text: is not" in outcome
    else:
        assert sum(word.doubtful for word in outcome.words) >= len(outcome.words) / 2


def test_clipped_to_a_square_wave(sample_folder, sample_lines, tmp_path):
    row = sample_lines[0]
    sound, rate = soundfile.read(sample_folder / row["wav"])
    path = tmp_path / "line.wav"
    soundfile.write(path, np.clip(sound * 30, -1, 1), rate)
    outcome = attempt(path, row["text"])
    assert isinstance(outcome, Breakdown) or "text: is not" in outcome


def test_a_text_without_letters(put):
    assert "nobody has said how 'Привет' is spoken; add it to the production's pronunciations" in refusal(
        put(noise(2)), "Привет"
    )


def test_no_text(put):
    assert "text: holds no word and no cue" in refusal(put(noise(2)), "...")


def test_much_more_is_said_than_written(sample_folder, sample_lines, tmp_path):
    rows = [row for row in sample_lines if "in" not in row and "0.85" in row["source"]]
    sounds = [soundfile.read(sample_folder / row["wav"])[0] for row in rows] * 4
    soundfile.write(tmp_path / "long.wav", np.concatenate(sounds), RATE)
    message = refusal(tmp_path / "long.wav", rows[0]["text"].split()[0], LineSettings(voice_factor=0.8))
    assert "text: is too short" in message or "text: is not" in message


def test_in_and_out_the_wrong_way_round(put):
    message = refusal(put(noise(3)), TEXT, LineSettings(in_us=2_000_000, out_us=1_000_000))
    assert "out: 1.0 s does not lie after in, 2.0 s; correct one of them" in message
