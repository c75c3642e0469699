"""What is no word, and what is held: breaths and clicks that no text mentions, and vowels held long.

Sounds are put into the sample's synthesised lines, so that the exact time of each phoneme is known. Each must begin
within a frame of it; or, where it is not so near in the line as it was, no more than half a frame worse than there.
Words end where a sound dies away: within two frames, and before what was put in begins.
"""

import numpy as np
import pytest
import soundfile

from lipsync.align.line import listen
from lipsync.align.settings import LineSettings
from lipsync.phonemes import SILENCE

FRAME_S = 1 / 24


def as_near(now_s, exact_s, error_before_s):
    """Whether a time is near its exact one, or nearly as near as it was."""
    return abs(now_s - exact_s) <= max(FRAME_S, abs(error_before_s) + FRAME_S / 2)


def breath(rate_hz, seconds):
    """Soft noise that swells and dies away."""
    noise = np.convolve(np.random.default_rng(8).normal(size=round(seconds * rate_hz)), np.hanning(7) / 3.5, "same")
    return 0.03 * noise / noise.std() * np.sin(np.pi * np.linspace(0, 1, len(noise))) ** 2


def click(rate_hz, seconds):
    """A tongue's click: 8 ms of noise that dies away at once, in the middle of silence."""
    sound = np.zeros(round(seconds * rate_hz))
    length = round(0.008 * rate_hz)
    burst = np.random.default_rng(9).normal(size=length) * np.exp(-np.arange(length) / (0.002 * rate_hz))
    sound[len(sound) // 2 :][:length] = 0.3 * burst
    return sound


def nothing(rate_hz, seconds):
    return np.zeros(round(seconds * rate_hz))


def pauses(row):
    """The places in the middle of silences between the words of a line, in seconds."""
    return [(start + end) / 2 for phone, start, end in row["phones"][1:-1] if phone == SILENCE]


def factor_of(row):
    return 1.35 if "1.2" in row["source"] else 0.8


@pytest.mark.parametrize(
    ("id", "put"),
    [
        ("010-a", breath),
        ("010-a", click),
        ("010-a", nothing),
        ("020-c", breath),
        ("020-c", click),
        ("020-c", nothing),
    ],
)
def test_what_the_text_does_not_mention_stretches_no_neighbour(sample_folder, sample_lines, tmp_path, id, put):
    row = next(row for row in sample_lines if row["id"] == id)
    sound, rate_hz = soundfile.read(sample_folder / row["wav"])
    assert pauses(row)
    quiet_s, put_s = 0.15, 0.5  # more than two frames of silence before and after
    inserted = [nothing(rate_hz, quiet_s), put(rate_hz, put_s), nothing(rate_hz, quiet_s)]
    late_s = put_s + 2 * quiet_s
    parts, before = [], 0
    for at in (round(pause_s * rate_hz) for pause_s in pauses(row)):
        parts += [sound[before:at], *inserted]
        before = at
    room = np.random.default_rng(7).normal(size=sum(map(len, [*parts, sound[before:]]))) * 0.0003
    soundfile.write(tmp_path / "line.wav", np.concatenate([*parts, sound[before:]]) + room, rate_hz)
    settings = LineSettings(voice_factor=factor_of(row))
    was, now = (listen(path, row["text"], settings) for path in (sample_folder / row["wav"], tmp_path / "line.wav"))
    assert [word.text for word in now.words] == [word.text for word in was.words]
    for before, after, (_, start_s, end_s) in zip(was.words, now.words, row["words"], strict=True):
        moved_s = late_s * sum(pause_s < (start_s + end_s) / 2 for pause_s in pauses(row))
        assert as_near(after.start_s, start_s + moved_s, before.start_s - start_s), before.text
        if before is not was.words[-1]:  # behind the last nothing is put in
            assert after.end_s == pytest.approx(end_s + moved_s, abs=2 * FRAME_S), before.text


def held(sound, rate_hz, start_s, end_s, longer_s):
    """The sound with a stretch of it held: its middle periods played over and over, each faded into the next."""
    first, last = (
        round((start_s + 0.35 * (end_s - start_s)) * rate_hz),
        round((start_s + 0.65 * (end_s - start_s)) * rate_hz),
    )
    part = sound[first:last]
    lags = range(round(rate_hz / 400), min(round(rate_hz / 70), len(part) // 2))
    period = max(lags, key=lambda lag: np.corrcoef(part[lag:], part[:-lag])[0, 1])
    loop = part[: len(part) // period * period]
    fade = np.linspace(0, 1, period)
    joined = loop.copy()
    while len(joined) < len(loop) + longer_s * rate_hz:
        joined[-period:] = joined[-period:] * (1 - fade) + loop[:period] * fade
        joined = np.concatenate([joined, loop[period:]])
    held_s = (len(joined) - len(loop)) / rate_hz
    return np.concatenate([sound[:first], joined, sound[first + len(loop) :]]), held_s


@pytest.mark.parametrize("longer_s", [0.5, 2.0])
@pytest.mark.parametrize(("id", "vowel"), [("020-c", "UW"), ("010-a", "AW")])
def test_a_vowel_held_long_keeps_to_its_end(sample_folder, sample_lines, tmp_path, id, vowel, longer_s):
    row = next(row for row in sample_lines if row["id"] == id)
    sound, rate_hz = soundfile.read(sample_folder / row["wav"])
    _, start_s, end_s = max((p for p in row["phones"] if p[0] == vowel), key=lambda phone: phone[1])
    longer, by_s = held(sound, rate_hz, start_s, end_s, longer_s)
    soundfile.write(tmp_path / "line.wav", longer, rate_hz)
    settings = LineSettings(voice_factor=factor_of(row))
    was, now = (listen(path, row["text"], settings) for path in (sample_folder / row["wav"], tmp_path / "line.wav"))
    place = min(range(len(was.phonemes)), key=lambda i: abs(was.phonemes[i].start_s - start_s))
    before, after = was.phonemes[place], now.phonemes[place]
    assert before.symbol == after.symbol == vowel
    assert as_near(after.start_s, start_s, before.start_s - start_s)
    assert as_near(after.end_s, end_s + by_s, before.end_s - end_s)
