"""Recordings in every form: what comes out is what went in, on tones whose level and place are arithmetic."""

import math
import struct
import subprocess
import sys
import wave

import numpy as np
import pytest
import soundfile

from lipsync.audio.features import RATE_HZ
from lipsync.audio.recording import Recording, heard, level_db, levels_db, noise_floor_db, read_recording
from lipsync.errors import LineError

RATES = (8000, 11025, 12000, 16000, 22050, 24000, 32000, 44100, 48000, 88200, 96000, 176400, 192000)
FORMS = [
    *(("WAV", "wav", subtype) for subtype in ("PCM_U8", "PCM_16", "PCM_24", "PCM_32", "FLOAT", "DOUBLE")),
    ("WAVEX", "wav", "PCM_24"),
    ("RF64", "wav", "PCM_24"),
    ("AIFF", "aiff", "PCM_16"),
    ("AIFF", "aiff", "PCM_24"),
    ("FLAC", "flac", "PCM_16"),
    ("FLAC", "flac", "PCM_24"),
    ("OGG", "ogg", "VORBIS"),
    ("MP3", "mp3", "MPEG_LAYER_III"),
]
# Every form at a common rate, and every rate in three forms.
BOTH = [(*form, 48000) for form in FORMS] + [
    (*form, rate) for form in [FORMS[0], FORMS[1], FORMS[4]] for rate in RATES
]
PEAK = 0.25
TONE_DB = 20 * math.log10(PEAK / math.sqrt(2))  # a sine's root mean square is its peak / sqrt(2)


def tone(rate_hz, begins_s=0.5, lasts_s=1.0, whole_s=2.0, peak=PEAK):
    """Half a second of silence, a second of 440 Hz, half a second of silence."""
    t = np.arange(round(whole_s * rate_hz)) / rate_hz
    sound = np.where((t >= begins_s) & (t < begins_s + lasts_s), np.sin(2 * np.pi * 440 * t), 0.0)
    return peak * sound


def write(path, sound, rate_hz=RATE_HZ, subtype="PCM_16", kind=None):
    soundfile.write(path, sound, rate_hz, subtype=subtype, format=kind)
    return path


def onset_s(recording):
    """When the sound first passes a tenth of its peak."""
    sound = np.abs(recording.samples.astype(float))
    return int(np.argmax(sound > sound.max() / 10)) / RATE_HZ


@pytest.mark.parametrize(("kind", "ending", "at"), [("WAV", "wav", "<I"), ("AIFF", "aiff", ">I")])
def test_a_file_that_was_copied_in_part_is_told(tmp_path, kind, ending, at):
    """RIFF and FORM say after their names how many bytes follow; libraries read a shorter file as a shorter sound."""
    path = write(tmp_path / f"tone.{ending}", tone(48000), 48000, "PCM_16", kind)
    whole = path.read_bytes()
    assert struct.unpack(at, whole[4:8])[0] == len(whole) - 8
    path.write_bytes(whole[: len(whole) // 2])
    said = rf"is cut short: it holds {len(whole) // 2} of {len(whole)} bytes; copy or export it again"
    with pytest.raises(LineError, match=said):
        read_recording(path)
    # Sizes of writers that do not know them, or count a few bytes too many.
    for size in (0xFFFF_FFFF, 0x7FFF_FFFF, 0, len(whole) + 36):
        path.write_bytes(whole[:4] + struct.pack(at, size) + whole[8:])
        assert read_recording(path).duration_us == 2_000_000


@pytest.mark.parametrize(("kind", "ending", "subtype", "rate_hz"), sorted(set(BOTH)))
def test_every_form_and_rate_gives_the_same_sound(tmp_path, kind, ending, subtype, rate_hz):
    path = write(tmp_path / f"tone.{ending}", tone(rate_hz), rate_hz, subtype, kind)
    recording = read_recording(path)
    lossy = subtype in ("VORBIS", "MPEG_LAYER_III")
    assert recording.duration_us == pytest.approx(2_000_000, abs=30_000 if lossy else 0)
    assert len(recording.samples) == pytest.approx(2 * RATE_HZ, abs=480 if lossy else 1)
    assert level_db(recording, 600_000, 1_400_000) == pytest.approx(TONE_DB, abs=0.4 if lossy else 0.1)
    assert onset_s(recording) == pytest.approx(0.5, abs=0.004 if lossy else 0.001)
    spectrum = np.abs(np.fft.rfft(recording.samples[10_000:22_000].astype(float)))
    assert np.argmax(spectrum) * RATE_HZ / 12_000 == pytest.approx(440, abs=2)


def test_sixteen_bits_at_16_khz_come_through_unchanged(tmp_path):
    sound = tone(RATE_HZ, begins_s=0, lasts_s=2, peak=0.5)
    path = write(tmp_path / "tone.wav", sound)
    with wave.open(str(path)) as reference:  # the standard library's reader, which is not ours
        frames = np.frombuffer(reference.readframes(reference.getnframes()), np.int16)
    recording = read_recording(path)
    assert recording.gain_db == 0
    assert np.array_equal(recording.samples, frames)


@pytest.mark.parametrize("channels", [1, 2, 3, 6, 8])
def test_the_same_sound_in_all_channels_keeps_its_level(tmp_path, channels):
    path = write(tmp_path / "tone.wav", np.column_stack([tone(48000)] * channels), 48000, "PCM_24")
    assert level_db(read_recording(path), 600_000, 1_400_000) == pytest.approx(TONE_DB, abs=0.1)


@pytest.mark.parametrize("channels", [2, 6])
@pytest.mark.parametrize("place", [0, 1])
def test_a_voice_in_one_channel_is_not_lowered_by_the_empty_ones(tmp_path, channels, place):
    sound = np.zeros((96000, channels))
    sound[:, place] = tone(48000)
    path = write(tmp_path / "tone.wav", sound, 48000, "PCM_24")
    assert level_db(read_recording(path), 600_000, 1_400_000) == pytest.approx(TONE_DB, abs=0.1)


def test_channels_out_of_phase_do_not_cancel(tmp_path):
    path = write(tmp_path / "tone.wav", np.column_stack([tone(48000), -tone(48000)]), 48000)
    assert level_db(read_recording(path), 600_000, 1_400_000) == pytest.approx(TONE_DB, abs=0.1)


@pytest.mark.parametrize("level", [-30, -50, -60])
def test_a_quiet_recording_is_raised_and_its_own_level_told(tmp_path, level):
    peak = 10 ** (level / 20) * math.sqrt(2)
    path = write(tmp_path / "tone.wav", tone(48000, 0, 2, peak=peak), 48000, "PCM_24")
    recording = read_recording(path)
    assert level_db(recording, 0, 2_000_000) == pytest.approx(level, abs=0.15)
    assert 20 * math.log10(np.std(recording.samples / 32768)) == pytest.approx(-23, abs=0.2)


def test_floats_beyond_full_scale_are_brought_down_whole(tmp_path):
    path = write(tmp_path / "tone.wav", tone(RATE_HZ, peak=4.0), subtype="FLOAT")
    samples = read_recording(path).samples.astype(float)
    assert np.abs(samples).max() == pytest.approx(32767, abs=2)
    assert np.std(samples[9000:23000]) == pytest.approx(32767 / math.sqrt(2), rel=0.01)  # a sine still, not a square


def test_a_constant_in_the_samples_is_no_sound(tmp_path):
    path = write(tmp_path / "tone.wav", tone(RATE_HZ) + 0.25, subtype="PCM_24")
    recording = read_recording(path)
    assert level_db(recording, 0, 400_000) < -100
    assert level_db(recording, 600_000, 1_400_000) == pytest.approx(TONE_DB, abs=0.1)


@pytest.mark.parametrize("rate_hz", [11025, 16000, 44100, 48000])
def test_a_part_begins_and_ends_where_it_is_told_to(tmp_path, rate_hz):
    path = write(tmp_path / "tone.wav", tone(rate_hz), rate_hz)
    part = read_recording(path, 400_000, 1_600_000)
    assert part.duration_us == 1_200_000
    assert len(part.samples) == pytest.approx(1.2 * RATE_HZ, abs=1)
    assert onset_s(part) == pytest.approx(0.1, abs=0.001)
    assert read_recording(path, 400_000).duration_us == 1_600_000
    assert read_recording(path, None, 1_600_000).duration_us == 1_600_000


def test_the_fingerprint_is_of_the_sound_not_of_the_file(tmp_path):
    sound = np.rint(tone(48000) * 32767).astype(np.int16)
    same = [
        write(tmp_path / f"{kind}.{ending}", sound, 48000, "PCM_16", kind)
        for kind, ending in (("WAV", "wav"), ("RF64", "wav"), ("FLAC", "flac"), ("AIFF", "aiff"))
    ]
    prints = {read_recording(path).fingerprint for path in same}
    assert len(prints) == 1
    sound[48000] += 1
    other = write(tmp_path / "other.wav", sound, 48000)
    prints |= {read_recording(other).fingerprint, read_recording(other, 0, 1_900_000).fingerprint}
    assert len(prints) == 3


def test_levels_of_many_spans(tmp_path):
    recording = read_recording(write(tmp_path / "tone.wav", tone(RATE_HZ)))
    spans = [(0, 400_000), (600_000, 1_400_000), (1_600_000, 2_000_000), (700_600, 700_601)]
    before, within, after, instant = levels_db(recording, spans)
    assert before == after == -120
    assert within == pytest.approx(TONE_DB, abs=0.1)
    assert -120 < instant <= 20 * math.log10(PEAK) + 0.1


def test_what_is_heard(tmp_path):
    recording = read_recording(write(tmp_path / "tone.wav", tone(RATE_HZ) + tone(RATE_HZ, 1.7, 0.2)))
    assert noise_floor_db(recording) == -120
    found = heard(recording, 100_000, 2_000_000, -60)
    assert [tuple(round(edge / 1e6, 1) for edge in span) for span in found] == [(0.5, 1.5), (1.7, 1.9)]
    assert heard(recording, 0, 400_000, -60) == ()
    assert heard(recording, 100_000, 100_500, -60) == ()


def test_a_recording_cannot_be_changed_or_malformed():
    samples = np.zeros(16000, np.int16)
    with pytest.raises(ValueError, match="read-only"):
        Recording("a.wav", samples, 1_000_000, "0" * 16)
    with pytest.raises(ValueError, match="16-bit"):
        Recording("a.wav", samples.astype(float), 1_000_000, "0" * 16)


def test_pydub_warns_nobody():
    done = subprocess.run(
        [sys.executable, "-W", "error", "-c", "import lipsync.audio.recording"], capture_output=True, text=True
    )
    assert (done.returncode, done.stdout, done.stderr) == (0, "", "")


def fault_of(path, *part):
    with pytest.raises(LineError) as caught:
        read_recording(path, *part)
    return str(caught.value)


def test_faults_of_files(tmp_path):
    assert fault_of(tmp_path / "no.wav").endswith(
        "no.wav: does not exist; name a recording (WAV, AIFF, FLAC, OGG or MP3)"
    )
    assert "is a folder; name a recording" in fault_of(tmp_path)
    empty = tmp_path / "empty.wav"
    empty.touch()
    assert "is empty (0 bytes); export the recording again" in fault_of(empty)
    text = tmp_path / "text.wav"
    text.write_text("Who on earth is that? " * 200)
    assert "cannot be read as sound" in fault_of(text)
    assert "export it again as WAV" in fault_of(text)
    whole = write(tmp_path / "whole.wav", tone(RATE_HZ))
    torn = tmp_path / "torn.wav"
    torn.write_bytes(whole.read_bytes()[:20])
    assert "is cut short: it holds 20 of" in fault_of(torn)
    torn.write_bytes(whole.read_bytes()[:6])
    assert "cannot be read as sound" in fault_of(torn)


@pytest.mark.parametrize("length", [0, 1, 159, 479])
def test_shorter_than_30_ms(tmp_path, length):
    path = write(tmp_path / "short.wav", np.ones(length) * 0.1)
    assert "nothing can be heard in less than 30 ms: set in and out anew" in fault_of(path)


@pytest.mark.parametrize("peak", [0.0, 0.0001])
def test_nothing_but_silence(tmp_path, peak):
    path = write(tmp_path / "silence.wav", tone(RATE_HZ, peak=peak), subtype="PCM_24")
    assert "holds only silence (nothing above -72 dB); check the recording, its in and out" in fault_of(path)


@pytest.mark.parametrize("wrong", [np.nan, np.inf, -np.inf])
def test_samples_that_are_no_numbers(tmp_path, wrong):
    sound = tone(RATE_HZ)
    sound[100] = wrong
    path = write(tmp_path / "nan.wav", sound, subtype="FLOAT")
    assert "holds samples that are no numbers; export the recording again" in fault_of(path)


def test_too_few_samples_a_second(tmp_path):
    path = write(tmp_path / "low.wav", tone(6000), 6000)
    assert "has 6000 samples a second; record at 8000 or more" in fault_of(path)


def test_in_and_out(tmp_path):
    path = write(tmp_path / "tone.wav", tone(RATE_HZ))
    assert "in: 2.5 s lies outside the recording, which lasts 2.0 s" in fault_of(path, 2_500_000)
    assert "in: 2.0 s lies outside the recording, which lasts 2.0 s" in fault_of(path, 2_000_000)
    assert "in: -0.1 s lies outside" in fault_of(path, -100_000)
    assert "out: 2.1 s lies after the end of the recording, 2.0 s" in fault_of(path, 0, 2_100_000)
    assert "out: 1.0 s does not lie after in, 1.5 s; correct one of them" in fault_of(path, 1_500_000, 1_000_000)
    assert "out: 1.0 s does not lie after in, 1.0 s" in fault_of(path, 1_000_000, 1_000_000)
    both = fault_of(path, -100_000, 2_100_000)
    assert both.count("\n") == 1
    assert ": in: -0.1 s" in both
    assert ": out: 2.1 s" in both
    assert "lasts 10 ms; nothing can be heard" in fault_of(path, 1_000_000, 1_010_000)
    assert "holds only silence" in fault_of(path, 0, 400_000)


@pytest.mark.skipif(sys.platform != "linux", reason="only Linux tells a process's own most memory in a file")
def test_two_hours_are_read_in_flat_memory(tmp_path) -> None:
    """Two hours at 24 kHz, without in and out, take less than 600 MB; a minute more is a sentence."""
    block = (np.sin(np.arange(24_000 * 60) / 20) * 8_000).astype(np.int16)
    path = tmp_path / "long.wav"
    with soundfile.SoundFile(path, "w", 24_000, 1, "PCM_16") as sound:
        for _ in range(120):
            sound.write(block)
    code = (
        "import sys\nfrom lipsync.audio.recording import read_recording\n"
        "read = read_recording(sys.argv[1])\n"
        # Its own memory alone: what `getrusage` tells may be that of the process that started it.
        "held = [row.split()[1] for row in open('/proc/self/status') if row.startswith('VmHWM')]\n"
        "print(len(read.samples), *held)"
    )
    command = [sys.executable, "-c", code, str(path)]
    done = subprocess.run(command, capture_output=True, text=True, check=True)
    samples, most_kib = map(int, done.stdout.split())
    assert samples == 2 * 3600 * 16_000
    assert most_kib < 600 * 1000
    with soundfile.SoundFile(path, "r+") as sound:
        sound.seek(0, soundfile.SEEK_END)
        sound.write(block)
    with pytest.raises(LineError, match="lasts 121 minutes, and a line at most 120 minutes; give"):
        read_recording(path)
    assert read_recording(path, 0, 1_000_000).duration_us == 1_000_000
