"""Forms in which times are written: each against seconds reckoned by hand, and timecode against `timecode` 1.5.1."""

from fractions import Fraction
from pathlib import Path

import pytest
from production.waves import broadcast_wave
from timecode import Timecode

from lipsync.production.loading import open_production
from lipsync.production.sample import put_sample
from lipsync.production.written_times import begins_us, point_us

FILM = Fraction(24000, 1001)


@pytest.mark.parametrize(
    ("text", "rate", "expected"),
    [
        ("1.5 s", 24, 1_500_000),
        ("1.5s", 24, 1_500_000),
        ("36 f", 24, 1_500_000),
        ("36 frames", 24, 1_500_000),
        ("1 frame", 25, 40_000),
        ("00:00:01:12", 24, 1_500_000),
        # 24 frames at 24000/1001 last 1.001 s
        ("24 f", FILM, 1_001_000),
        ("00:00:01:00", FILM, 1_001_000),
        # 17,982 frames at 30000/1001 last 599.9994 s (SMPTE ST 12-1: ten minutes of drop-frame labels)
        ("00:10:00;00", Fraction(30000, 1001), 599_999_400),
    ],
)
def test_a_point_of_a_recording(text: str, rate: Fraction | int, expected: int) -> None:
    assert point_us(text, Fraction(rate)) == expected


@pytest.mark.parametrize(
    "text", ["soon", "", "1.5", "12", "-1 s", "-3 f", "1:00:00:00", "00:00:00:24", "x s", "1_0 s"]
)
def test_what_is_no_point_is_refused(text: str) -> None:
    with pytest.raises(ValueError, match=r"no point|no number of seconds|no timecode|before the recording"):
        point_us(text, Fraction(24))


@pytest.mark.parametrize(("framerate", "rate"), [("23.976", FILM), ("25", Fraction(25)), ("30", Fraction(30))])
def test_timecode_counts_as_another_library_does(framerate: str, rate: Fraction) -> None:
    for text in ("00:00:00:01", "00:00:59:12", "01:00:00:00", "13:37:11:07"):
        frame = Timecode(framerate, text).frames - 1  # it counts from 1
        assert point_us(text, rate) == -(-frame * rate.denominator * 1_000_000 // rate.numerator)


def test_a_line_begins_frames_after_its_shot() -> None:
    assert (
        begins_us("36 f", "01:00:00:00", Fraction(24), 1001) == begins_us(1037, "0", Fraction(24), 1001) == 1_500_000
    )
    assert begins_us("-12 f", "01:00:00:00", Fraction(24), 1) == -500_000


def in_of(folder: Path, written: str) -> int | None:
    scene = folder / "scenes/02-post-office.toml"
    scene.write_text(scene.read_text("utf-8").replace("in = 5.1", f"in = {written}"), "utf-8")
    return open_production(folder).scenes[1].shots[0].line[1].in_us


@pytest.mark.parametrize("written", ['"5.125 s"', '"123 f"', '"00:00:05:03"', "5.125"])
def test_in_is_written_in_any_form(written: str, tmp_path: Path) -> None:
    put_sample(tmp_path / "p")
    assert in_of(tmp_path / "p", written) == 5_125_000


def test_a_timecode_is_counted_from_the_recordings_time_stamp(tmp_path: Path) -> None:
    put_sample(tmp_path / "p")
    wave = tmp_path / "p/recordings/030.wav"
    # EBU Tech 3285: samples from midnight; 10 h at 16 kHz
    wave.write_bytes(broadcast_wave(wave.read_bytes(), 10 * 3600 * 16_000))
    assert in_of(tmp_path / "p", '"10:00:05:03"') == 5_125_000
