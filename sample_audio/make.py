"""Make the sample production's recordings and their labels again: `python sample_audio/make.py [FOLDER]`.

In come the texts of scenes/*.toml, out go recordings/*.wav and labels.jsonl, beside this script or in FOLDER. The
speech is synthesised by the program flite, which also prints when each of its segments ends; a puppet's voice is
made by playing flite's at another speed, so each of those times is divided by that speed and stays exact.
"""

from __future__ import annotations

import json
import re
import subprocess
import sys
import tempfile
import tomllib
from dataclasses import dataclass
from pathlib import Path

import numpy as np
import soundfile
import soxr

HERE = Path(__file__).parent
FLITE_HZ = 16_000

# A pause between two lines of one recording, and between a cue and the words after it.
BETWEEN_LINES_S = 0.30
AFTER_CUE_S = 0.10


@dataclass(frozen=True)
class Voice:
    """A puppet's voice: whose it is, how drawn out, how much faster it is played, and the rate of its recordings."""

    flite: str
    stretch: float
    speed: float
    rate_hz: int


# The loudest sample of each recording, as a share of full scale.
LOUDEST = 0.7

# The heron: small, high and quick. The crab: large, low and slow. Two rates, so that both are tried.
VOICES = {"heron": Voice("slt", 1.25, 1.2, 22_050), "crab": Voice("rms", 1.0, 0.85, 16_000)}

# What flite is given for what a text has: numbers word by word, so that they can be labelled, and an island in a
# spelling that it reads as the production does.
SAID = {"42": "forty two", "’": "'", "Skerrivane": "skerrivayne"}

# A laugh is three syllables spoken by the voice itself, each weaker than the one before.
LAUGH = "pau hh ah hh ah hh ah pau"

# flite's names of phones that ARPAbet, as the CMU dictionary has it, calls otherwise.
ARPABET = {"ax": "AH", "pau": "SIL"}

Spans = list[tuple[str, float, float]]


def flite(voice: Voice, *arguments: str) -> str:
    """Return what flite prints."""
    command = ["flite", "-voice", voice.flite, "--setf", f"duration_stretch={voice.stretch}", *arguments]
    return subprocess.run(command, check=True, capture_output=True, text=True).stdout


def speak(voice: Voice, *said: str) -> tuple[np.ndarray, Spans]:
    """Return the sound, at the voice's rate and speed, and the phones in time (seconds)."""
    with tempfile.TemporaryDirectory() as folder:
        wav = Path(folder) / "said.wav"
        printed = flite(voice, "-psdur", *said, "-o", str(wav))
        sound, rate_hz = soundfile.read(wav, dtype="float64")
    assert rate_hz == FLITE_HZ, rate_hz
    ends = [(phone, float(end) / voice.speed) for phone, end in (pair.split(":") for pair in printed.split())]
    starts = [0.0, *(end for _, end in ends)]
    phones = [
        (ARPABET.get(phone, phone.upper()), start, end) for (phone, end), start in zip(ends, starts, strict=False)
    ]
    return soxr.resample(sound, FLITE_HZ * voice.speed, voice.rate_hz, quality="HQ"), phones


def words_of(voice: Voice, text: str, phones: Spans) -> Spans:
    """Return the words in time: each has as many phones as flite gives it when it stands alone."""
    sounding = [phone for phone in phones if phone[0] != "SIL"]
    words: Spans = []
    at = 0
    for word in re.findall(r"[\w'-]+", text):
        count = sum(phone != "pau" for phone in flite(voice, "-ps", "-t", word, "none").split())
        words.append((word.lower(), sounding[at][1], sounding[at + count - 1][2]))
        at += count
    assert at == len(sounding), f"{text!r}: words have {at} phones, the line {len(sounding)}"
    return words


def breath(voice: Voice) -> np.ndarray:
    """Return a breath drawn in: noise without lows or highs, swelling and dying away over 0.55 s."""
    length = int(0.55 * voice.rate_hz)
    noise = np.random.RandomState(17).standard_normal(length + 64)
    soft = np.convolve(noise, np.hanning(9) / np.hanning(9).sum(), "same")
    band = (soft - np.convolve(soft, np.ones(33) / 33, "same"))[32 : 32 + length]
    swell = np.sin(np.pi * np.linspace(0, 1, length) ** 1.4) ** 2
    return 0.09 * band / band.std() * swell


def laugh(voice: Voice) -> np.ndarray:
    """Return a laugh: the syllables of LAUGH, each weaker than the one before."""
    sound, phones = speak(voice, "-p", LAUGH)
    first, last = phones[0][2], phones[-1][1]
    cut = sound[int(first * voice.rate_hz) : int(last * voice.rate_hz)]
    return cut * np.linspace(1.0, 0.45, len(cut))


CUES = {"breath": breath, "laugh": laugh}


def perform(voice: Voice, text: str) -> tuple[np.ndarray, dict[str, Spans]]:
    """Return a line's sound and its labels; a cue stands at the line's beginning only."""
    cue, words = re.fullmatch(r"(?:\[(\w+)\] )?([^\[]+)", text).groups()
    for written, spoken in SAID.items():
        words = words.replace(written, spoken)
    sound, phones = speak(voice, "-t", words)
    labels: dict[str, Spans] = {"phones": phones, "words": words_of(voice, words, phones), "cues": []}
    if cue:
        before = CUES[cue](voice)
        start, end = AFTER_CUE_S, AFTER_CUE_S + len(before) / voice.rate_hz
        silence = np.zeros(round(AFTER_CUE_S * voice.rate_hz))
        sound = np.concatenate([silence, before, sound])
        labels = {name: shifted(spans, end) for name, spans in labels.items()}
        first, *others = labels["phones"]
        labels["phones"] = [("SIL", 0.0, first[2]), *others]
        labels["cues"] = [(f"[{cue}]", start, end)]
    return sound, labels


def shifted(spans: Spans, by_s: float) -> Spans:
    """Return the spans, later."""
    return [(name, start + by_s, end + by_s) for name, start, end in spans]


def label(line: dict, labels: dict[str, Spans], offset_s: float) -> dict:
    """Return a line's row of labels.jsonl: times in seconds, to the microsecond, from the line's `in` point."""
    voice = VOICES[line["character"]]
    source = f"flite, voice {voice.flite}, played at {voice.speed} of its speed"
    times = {
        name: [[what, round(start + offset_s, 6), round(end + offset_s, 6)] for what, start, end in spans]
        for name, spans in labels.items()
    }
    times["phones"][0][1] = 0.0  # the silence before the words begins where the line does
    part = {key: line[key] for key in ("in", "out") if key in line}
    return {
        "id": line["id"],
        "wav": line["recording"],
        **part,
        "text": line["text"],
        "labels": "exact",
        "source": source,
        **times,
    }


def record(lines: list[dict]) -> tuple[np.ndarray, list[dict]]:
    """Return the sound of one recording and the labels of its lines, which follow each other with a pause."""
    voice = VOICES[lines[0]["character"]]
    pause = np.zeros(round(BETWEEN_LINES_S * voice.rate_hz))
    whole = np.zeros(0)
    rows = []
    for line in lines:
        begins_s = len(whole) / voice.rate_hz - line.get("in", 0.0)
        sound, labels = perform(voice, line["text"])
        whole = np.concatenate([whole, sound, pause]) if line is not lines[-1] else np.concatenate([whole, sound])
        ends_s = len(whole) / voice.rate_hz
        assert 0 <= begins_s < BETWEEN_LINES_S, f"{line['id']}: `in` is not in the pause before it"
        assert ends_s - BETWEEN_LINES_S < line.get("out", ends_s) <= ends_s, f"{line['id']}: mend its `out`"
        rows.append(label(line, labels, begins_s))
    return LOUDEST * whole / np.abs(whole).max(), rows


def main(folder: Path) -> None:
    """Make every recording of every scene, and the labels of every line."""
    (folder / "recordings").mkdir(parents=True, exist_ok=True)
    recordings: dict[str, list[dict]] = {}
    for path in sorted((HERE / "scenes").glob("*.toml")):
        for shot in tomllib.loads(path.read_text("utf-8"))["shot"]:
            for line in shot["line"]:
                recordings.setdefault(line["recording"], []).append(line)
    labels = []
    for name, lines in recordings.items():
        sound, rows = record(lines)
        rate_hz = VOICES[lines[0]["character"]].rate_hz
        soundfile.write(folder / name, np.round(sound * 32767).astype(np.int16), rate_hz, subtype="PCM_16")
        print(f"{name}: {len(sound) / rate_hz:.2f} s at {rate_hz} Hz")
        labels += rows
    text = "".join(json.dumps(row, ensure_ascii=False) + "\n" for row in labels)
    (folder / "labels.jsonl").write_text(text, "utf-8", newline="\n")


if __name__ == "__main__":
    main(Path(sys.argv[1]) if len(sys.argv) > 1 else HERE)
