"""Manners of speaking, made of synthesised lines as Praat does it, their phones still in time: manners.py FOLDER.

In: `spoken_lines.txt` in the voices of `synthesise_lines.py`, each line in one manner, these taking turns. Out: in
FOLDER a WAV for each and `manifest.jsonl`, as that script writes them; two in five with noise 15 or 25 dB below.
Needs the extra `measure` (praat-parselmouth, GPL): "Change gender" shifts formants by resampling and pitch by overlap
and add; "Manipulation" lengthens; a whisper is noise through the line's own linear prediction. Which sizes, pitches
and tilts women's, children's and shouted voices have is chosen near Peterson and Barney (1952, JASA 24:175-184:
women's formants 1.15 to 1.2 times men's, children's 1.3 times) and common knowledge of shouting: higher, flatter in
spectrum, vowels longer, levels nearer to each other.
"""

from __future__ import annotations

import itertools
import json
import random
import sys
from collections.abc import Callable, Sequence
from pathlib import Path

import numpy as np
import parselmouth
import soundfile
from parselmouth.praat import call
from synthesise_lines import LOUDEST, VOICES, speak

from lipsync.phonemes import VOWELS

RATE_HZ = 16_000
LOWEST_HZ, HIGHEST_HZ = 60, 600

Sound = np.ndarray
Phones = Sequence[tuple[str, float, float]]
Manner = Callable[[Sound, Phones, random.Random], tuple[Sound, Phones]]


def revoiced(sound: Sound, formants: float, pitch_hz: float, melody: float) -> Sound:
    """Return the sound with formants and the median pitch moved, its melody steeper by a factor."""
    voiced = call(
        parselmouth.Sound(sound, RATE_HZ), "Change gender", LOWEST_HZ, HIGHEST_HZ, formants, pitch_hz, melody, 1.0
    )
    return np.asarray(voiced.values[0][: len(sound)])


def drawn_out(sound: Sound, phones: Phones, factors: Sequence[float]) -> tuple[Sound, Phones]:
    """Return the sound with each phone so many times as long, and its phones where they then lie."""
    praat = parselmouth.Sound(sound, RATE_HZ)
    manipulation = call(praat, "To Manipulation", 0.01, LOWEST_HZ, HIGHEST_HZ)
    tier = call("Create DurationTier", "longer", 0.0, praat.xmax)
    timed, now_s, edge_s = [], 0.0, 1e-4
    for (phone, start_s, end_s), factor in zip(phones, factors, strict=True):
        for at_s in (start_s + edge_s, end_s - edge_s):
            call(tier, "Add point", at_s, factor)
        timed.append((phone, now_s, now_s + (end_s - start_s) * factor))
        now_s = timed[-1][2]
    call([manipulation, tier], "Replace duration tier")
    return np.asarray(call(manipulation, "Get resynthesis (overlap-add)").values[0]), timed


def whisper_of(sound: Sound, chance: random.Random) -> Sound:
    """Return noise through the sound's own linear prediction, as loud as it is from moment to moment."""
    praat = parselmouth.Sound(sound, RATE_HZ)
    lpc = call(praat, "To LPC (burg)", 18, 0.025, 0.005, 50.0)
    noise = np.random.default_rng(chance.randrange(2**31)).standard_normal(len(sound))
    breath = np.asarray(call([lpc, parselmouth.Sound(noise, RATE_HZ)], "Filter", "no").values[0])
    return breath * _level(sound, 160) / (_level(breath, 160) + 1e-9)


def _level(sound: Sound, half: int) -> Sound:
    """Return the root mean square about each sample."""
    summed = np.cumsum(np.pad(sound**2, (half + 1, half)))
    return np.sqrt(np.maximum(0.0, summed[2 * half + 1 :] - summed[: -2 * half - 1]) / (2 * half + 1))


def _tilted(sound: Sound, db_per_octave: float) -> Sound:
    """Return the sound with more of what is above 300 Hz, by so much an octave up to 4 kHz."""
    hz = np.fft.rfftfreq(len(sound), 1 / RATE_HZ)
    octaves = np.log2(np.clip(hz, 300, 4000) / 300)
    return np.fft.irfft(np.fft.rfft(sound) * 10 ** (db_per_octave * octaves / 20), len(sound))


def woman(sound: Sound, phones: Phones, chance: random.Random) -> tuple[Sound, Phones]:
    """Formants 1.08 to 1.22 times as high, at 180 to 300 Hz, a livelier melody."""
    return revoiced(sound, chance.uniform(1.08, 1.22), chance.uniform(180, 300), chance.uniform(1.0, 2.0)), phones


def child(sound: Sound, phones: Phones, chance: random.Random) -> tuple[Sound, Phones]:
    """Formants 1.2 to 1.4 times as high, at 250 to 420 Hz."""
    return revoiced(sound, chance.uniform(1.2, 1.4), chance.uniform(250, 420), chance.uniform(1.0, 2.0)), phones


def shouted(sound: Sound, phones: Phones, chance: random.Random) -> tuple[Sound, Phones]:
    """Higher, flatter in spectrum and level, vowels longer."""
    factors = [chance.uniform(1.0, 1.8) if phone in VOWELS else 1.0 for phone, _, _ in phones]
    longer, timed = drawn_out(sound, phones, factors)
    high = revoiced(longer, chance.uniform(1.0, 1.12), chance.uniform(220, 420), chance.uniform(1.2, 2.2))
    flat = _tilted(high, chance.uniform(2.0, 5.0))
    return flat / (_level(flat, 400) + 0.05 * np.abs(flat).max()) ** chance.uniform(0.2, 0.5), timed


def breathy(sound: Sound, phones: Phones, chance: random.Random) -> tuple[Sound, Phones]:
    """Half voice, half breath; slower here and there."""
    factors = [chance.uniform(0.9, 1.5) if phone in VOWELS else chance.uniform(0.9, 1.2) for phone, _, _ in phones]
    longer, timed = drawn_out(sound, phones, factors)
    share = chance.uniform(0.3, 0.8)
    return (1 - share) * _tilted(longer, -2.0) + share * whisper_of(longer, chance), timed


def whispered(sound: Sound, phones: Phones, chance: random.Random) -> tuple[Sound, Phones]:
    """Breath alone."""
    return whisper_of(sound, chance), phones


def lively(sound: Sound, phones: Phones, chance: random.Random) -> tuple[Sound, Phones]:
    """Long here, short there, with a melody twice as steep."""
    factors = [chance.uniform(0.75, 1.9) if phone in VOWELS else chance.uniform(0.8, 1.3) for phone, _, _ in phones]
    longer, timed = drawn_out(sound, phones, factors)
    return revoiced(longer, chance.uniform(0.9, 1.2), chance.uniform(100, 300), chance.uniform(1.5, 2.5)), timed


MANNERS: dict[str, Manner] = {
    manner.__name__: manner for manner in (woman, child, shouted, breathy, lively, whispered)
}


def main(folder: Path) -> None:
    """Make every line in every voice."""
    folder.mkdir(parents=True, exist_ok=True)
    lines = (Path(__file__).parent / "spoken_lines.txt").read_text("utf-8").splitlines()
    names, rows = list(MANNERS), []
    for (place, voice), (number, text) in itertools.product(enumerate(VOICES), enumerate(lines)):
        name = names[(number + 2 * place) % len(names)]
        chance = random.Random(f"{voice}{number}{name}")
        sound, phones = MANNERS[name](*speak(voice, text), chance)
        noise_db = chance.choice([None, None, None, 25.0, 15.0])
        if noise_db is not None:
            noise = np.random.default_rng(number).standard_normal(len(sound))
            sound = sound + noise * sound.std() * 10 ** (-noise_db / 20)
        line = f"{voice}-{number:02}-{name}"
        soundfile.write(folder / f"{line}.wav", LOUDEST * sound / np.abs(sound).max(), RATE_HZ, subtype="PCM_16")
        timed = [[phone, round(start_s, 6), round(end_s, 6)] for phone, start_s, end_s in phones]
        rows.append(
            {
                "id": line,
                "wav": f"{line}.wav",
                "text": text,
                "labels": "exact",
                "source": f"flite {name}",
                "speaker": voice,
                "condition": name,
                "phones": timed,
            }
        )
    (folder / "manifest.jsonl").write_text("".join(json.dumps(row) + "\n" for row in rows), "utf-8")


if __name__ == "__main__":
    main(Path(sys.argv[1]))
