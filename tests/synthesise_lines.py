"""Makes spoken lines with exact phoneme times: python tests/synthesise_lines.py FOLDER (needs the program flite).

In: `spoken_lines.txt`. Out: in FOLDER a WAV for each line and voice, and `manifest.jsonl` as `measure_timing.py`
reads it, each row with its words and the condition it was made under: played faster or slower, with noise or without.
The program flite itself prints when each of its segments ends; played at another speed, times are divided by it.
"""

from __future__ import annotations

import itertools
import json
import subprocess
import sys
import tempfile
from pathlib import Path

import numpy as np
import soundfile
import soxr

RATE_HZ = 16_000
VOICES = ("slt", "rms", "awb", "kal16")
SPEEDS = (1.0, 0.85, 1.2)
NOISES_DB = (None, None, 20.0, 10.0)  # below the voice; None: none is added
ARPABET = {"ax": "AH", "pau": "SIL"}
LOUDEST = 0.7


def speak(voice: str, text: str) -> tuple[np.ndarray, list[tuple[str, float, float]]]:
    """Return the sound and the phones in time (seconds)."""
    with tempfile.TemporaryDirectory() as folder:
        wav = Path(folder) / "said.wav"
        command = ["flite", "-voice", voice, "-psdur", "-t", text, "-o", str(wav)]
        printed = subprocess.run(command, check=True, capture_output=True, text=True).stdout
        sound, rate_hz = soundfile.read(wav, dtype="float64")
    assert rate_hz == RATE_HZ, rate_hz
    ends = [(phone, float(end)) for phone, end in (pair.split(":") for pair in printed.split())]
    starts = [0.0, *(end for _, end in ends)]
    return sound, [
        (ARPABET.get(phone, phone.upper()), start, end) for (phone, end), start in zip(ends, starts, strict=False)
    ]


def perform(voice: str, text: str, speed: float, noise_db: float | None) -> tuple[np.ndarray, list[list[object]]]:
    """Return a line's sound under a condition, and its phones."""
    sound, phones = speak(voice, text)
    sound = soxr.resample(sound, RATE_HZ * speed, RATE_HZ, "HQ")
    if noise_db is not None:
        noise = np.random.default_rng(len(sound)).standard_normal(len(sound))
        sound = sound + noise * sound.std() * 10 ** (-noise_db / 20)
    timed = [[phone, round(start / speed, 6), round(end / speed, 6)] for phone, start, end in phones]
    return LOUDEST * sound / np.abs(sound).max(), timed


def main(folder: Path) -> None:
    """Make every line in every voice; the conditions take turns."""
    folder.mkdir(parents=True, exist_ok=True)
    lines = (Path(__file__).parent / "spoken_lines.txt").read_text("utf-8").splitlines()
    rows = []
    for (place, voice), (number, text) in itertools.product(enumerate(VOICES), enumerate(lines)):
        speed, noise_db = SPEEDS[(number + place) % len(SPEEDS)], NOISES_DB[(number + 2 * place) % len(NOISES_DB)]
        sound, phones = perform(voice, text, speed, noise_db)
        name = f"{voice}-{number:02}"
        soundfile.write(folder / f"{name}.wav", sound, RATE_HZ, subtype="PCM_16")
        condition = f"speed {speed:g}, " + ("clean" if noise_db is None else f"noise {noise_db:g} dB below")
        rows.append(
            {
                "id": name,
                "wav": f"{name}.wav",
                "text": text,
                "labels": "exact",
                "source": f"flite {voice}",
                "speaker": voice,
                "condition": condition,
                "phones": phones,
            }
        )
    (folder / "manifest.jsonl").write_text("".join(json.dumps(row) + "\n" for row in rows), "utf-8")


if __name__ == "__main__":
    main(Path(sys.argv[1]))
