"""What no recording and no text should be: refused in one sentence if it cannot be read, else laid, all doubtful."""

from types import SimpleNamespace

import numpy as np
import pytest
import soundfile

from lipsync.align import recogniser, time_limit
from lipsync.align.aligning import align
from lipsync.align.line import VoiceLine, listen, listen_to, pronunciations_of, voice_factor_of
from lipsync.align.settings import LineSettings
from lipsync.audio.recording import read_recording
from lipsync.errors import InputError, LineError
from lipsync.model import Rejection
from lipsync.text.script import tokens_of
from lipsync.timing import us_of_seconds

TEXT = "Who on earth is that?"
RATE = 16_000


def refusal(path, text=TEXT, settings=None):
    with pytest.raises(LineError) as caught:
        listen(path, text, settings)
    assert len(caught.value.problems) == 1
    assert caught.value.problems[0].file == str(path)
    return str(caught.value)


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
    found = listen(put(noise(3)), "the lamp is out " * 5000)
    assert found.rejection is Rejection.TOO_FAST
    assert len(found.words) == 20_000
    assert all(word.doubtful for word in found.words)


def test_the_shortest_recording_that_is_read(put):
    found = listen(put(noise(0.030)), TEXT)
    assert found.rejection is Rejection.TOO_FAST
    assert found.words[-1].end_us <= found.duration_us


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
    found = listen(put(sound), text)
    doubtful = sum(word.doubtful for word in found.words)
    assert doubtful == len(found.words) if found.rejection else doubtful >= len(found.words) / 2


@pytest.mark.parametrize("level", [0.5, 0.1, 0.001])
@pytest.mark.parametrize("falls", [0.0, 0.5])
def test_a_room_in_which_nobody_speaks(put, level, falls):
    """White noise, and pink noise, whose power falls with its frequency."""
    spectrum = np.fft.rfft(noise(3, level)) / np.maximum(1, np.arange(3 * RATE // 2 + 1)) ** falls
    sound = np.fft.irfft(spectrum)
    found = listen(put(sound * level / np.abs(sound).max()), TEXT)
    assert found.rejection is Rejection.NO_SPEECH
    assert all(word.doubtful for word in found.words)


def test_what_a_person_says_is_said_is_doubted_and_not_rejected(put, sample_folder):
    """The crab says "Oops. My foot is blue."; and an even noise, in which the words may still be found somewhere."""
    text = "The captain bought nine trunks today."
    for path in (sample_folder / "recordings" / "020-c.wav", put(noise(3))):
        recording, tokens, settings = read_recording(path), tokens_of(text), LineSettings()
        said = pronunciations_of(tokens, settings)
        found = align(recording, tokens, said, text)
        assert found.rejection in {Rejection.NOT_SAID, Rejection.NO_SPEECH}
        assert all(word.doubtful for word in found.words)
        trusted = align(recording, tokens, said, text, told=True)
        assert trusted.rejection is None
        assert sum(word.doubtful for word in trusted.words) >= 4


def test_clipped_to_a_square_wave(sample_folder, sample_lines, tmp_path):
    row = sample_lines[0]
    sound, rate = soundfile.read(sample_folder / row["wav"])
    path = tmp_path / "line.wav"
    soundfile.write(path, np.clip(sound * 30, -1, 1), rate)
    assert len(listen(path, row["text"]).words) == len(row["words"])


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
    found = listen(tmp_path / "long.wav", rows[0]["text"].split()[0], LineSettings(voice_factor=0.8))
    assert found.rejection in {Rejection.TOO_SHORT, Rejection.NOT_SAID}
    assert all(word.doubtful for word in found.words)
    assert found.voice_without_text


def test_in_and_out_the_wrong_way_round(put):
    message = refusal(put(noise(3)), TEXT, LineSettings(in_us=2_000_000, out_us=1_000_000))
    assert "out: 1.0 s does not lie after in, 2.0 s; correct one of them" in message


def test_nobody_speaks(sample_folder, sample_lines):
    """The breath of a sample line alone, and the text of the words behind it."""
    row = next(row for row in sample_lines if any(name == "[breath]" for name, *_ in row["cues"]))
    out_us = us_of_seconds(row["cues"][0][2])
    (word,) = listen(sample_folder / row["wav"], "Who?", LineSettings(out_us=out_us)).words
    assert word.doubtful


@pytest.mark.parametrize("factor", [0.0, 0.49, 2.01, 50.0, -1.0, float("nan"), float("inf")])
def test_a_voice_factor_outside_sense(factor):
    with pytest.raises(
        InputError, match=r"voice_factor: .* is no voice that can be heard; write a number from 0.5 to 2"
    ):
        LineSettings(voice_factor=factor)


@pytest.mark.parametrize(("known", "most"), [(1.35, 1), (None, 2)])
def test_a_search_that_takes_too_long_is_stopped(sample_folder, sample_lines, monkeypatch, known, most):
    """The clock jumps over the limit after so many passes of the recogniser: no pass is begun after that."""
    row, passes = sample_lines[0], []
    clock = SimpleNamespace(monotonic=lambda: 1e6 if len(passes) >= most else 0.0)
    monkeypatch.setattr(time_limit, "time", clock)
    lend = recogniser._Lent.for_another
    monkeypatch.setattr(recogniser._Lent, "for_another", lambda lent: passes.append(lent) or lend(lent))
    found = listen(sample_folder / row["wav"], row["text"], LineSettings(voice_factor=known))
    assert found.rejection is Rejection.STOPPED
    assert all(word.doubtful for word in found.words)
    assert len(passes) == most


def test_finding_a_voice_that_takes_too_long_is_stopped(sample_folder, sample_lines, monkeypatch):
    row = sample_lines[0]
    times = iter([0.0, *[1e6] * 9])
    monkeypatch.setattr(time_limit, "time", SimpleNamespace(monotonic=lambda: next(times)))
    recording = read_recording(sample_folder / row["wav"])
    assert voice_factor_of([VoiceLine(recording, row["text"], LineSettings())]) == 1.0


def test_a_limit_is_for_what_is_within_it(monkeypatch):
    now = [0.0]
    monkeypatch.setattr(time_limit, "time", SimpleNamespace(monotonic=lambda: now[0]))
    time_limit.check_patience()
    with time_limit.patience(2_000_000):
        now[0] = 20 * 2.0 + 60
        time_limit.check_patience()
        with time_limit.patience(1_000_000):  # the outer limit stays
            now[0] += 0.1
            with pytest.raises(time_limit.OutOfPatienceError):
                time_limit.check_patience()
    time_limit.check_patience()


def test_one_line_of_one_word(put, sample_folder, sample_lines):
    """The word "lamp" alone, as all that a character says: its voice is found from it, and it is heard."""
    row = sample_lines[0]
    _, start_s, end_s = next(word for word in row["words"] if word[0] == "lamp")
    part = us_of_seconds(start_s - 0.05), us_of_seconds(end_s + 0.05)
    recording = read_recording(sample_folder / row["wav"], *part)
    factor = voice_factor_of([VoiceLine(recording, "Lamp.", LineSettings())])
    assert 0.56 <= factor <= 1.75
    for settings in (LineSettings(voice_factor=factor), LineSettings()):
        (word,) = listen_to(recording, "Lamp.", settings).words
        assert word.start_s == pytest.approx(0.05, abs=1 / 24)
        assert word.end_s == pytest.approx(0.05 + end_s - start_s, abs=1 / 24)
