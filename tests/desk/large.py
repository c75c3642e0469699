"""Large productions for measuring the desk: one line of three minutes, and two thousand lines. Made, not recorded."""

import shutil
from collections.abc import Sequence
from dataclasses import replace
from pathlib import Path

import numpy as np
import soundfile

from lipsync.breakdown import breakdown_file
from lipsync.breakdown.breakdown_file import Kept, Source
from lipsync.breakdown.rebase import later
from lipsync.model import Breakdown, Part

SPOKEN = ("010-a", "010-b", "020-b", "040-a", "040-c")  # the heron's lines, all at 22,050 samples a second


def _begun(folder: Path) -> None:
    folder.mkdir(parents=True)
    text = 'title = "Low Tide Post"\nframe_rate = 24\n[characters.heron]\nname = "Zoë Wade"\nmouth_set = "tideline"\n'
    (folder / "production.toml").write_text(text, encoding="utf-8")
    (folder / "scenes").mkdir()
    (folder / "recordings").mkdir()


def _kept(sample: Path, line: str) -> Kept:
    (path,) = (sample / "breakdowns").rglob(f"{line}.toml")
    return breakdown_file.read(path)


def long_line(sample: Path, folder: Path, seconds: int) -> Path:
    """A production with one line, of at least so many seconds: the heron's lines of the sample over and over."""
    _begun(folder)
    parts: list[Part] = []
    sound: list[np.ndarray] = []
    texts: list[str] = []
    at = number = samples = 0
    while at < seconds * 1_000_000:
        line = SPOKEN[number % len(SPOKEN)]
        kept, number = _kept(sample, line), number + 1
        parts += [later(part, at) for part in kept.breakdown.parts]
        texts.append(kept.source.text)
        sound.append(soundfile.read(sample / kept.source.recording, dtype="int16")[0])
        samples += len(sound[-1])
        at = samples * 1_000_000 // 22_050
    text = " ".join(texts)
    soundfile.write(folder / "recordings/long.wav", np.concatenate(sound), 22_050)
    stands = Breakdown(text, at, tuple(parts))
    file = folder / "breakdowns/01-long/long.toml"
    breakdown_file.write(file, Kept("long", Source(text, "recordings/long.wav", "0" * 16), stands))
    scene = (
        f'title = "Long"\n[[shot]]\nid = "900"\nframes = {at * 24 // 1_000_000 + 10}\n[[shot.line]]\nid = "long"\n'
    )
    scene += f'character = "heron"\nrecording = "recordings/long.wav"\nbegins = 1\ntext = """{text}"""\n'
    (folder / "scenes/01-long.toml").write_text(scene, encoding="utf-8")
    return folder


def many_lines(sample: Path, folder: Path, lines: int, shots_a_scene: int = 20) -> Path:
    """A production of so many lines, four to a shot, each with its breakdown."""
    _begun(folder)
    for line in SPOKEN:
        shutil.copy(sample / f"recordings/{line}.wav", folder / "recordings")
    kept = [_kept(sample, line) for line in SPOKEN]
    for start in range(0, lines, 4 * shots_a_scene):
        scene = f"{start // (4 * shots_a_scene) + 1:03}"
        text = [f'title = "Scene {scene}"']
        for first in range(start, min(lines, start + 4 * shots_a_scene), 4):
            text.append(f'[[shot]]\nid = "s{first}"\nframes = 400')
            text += _lines(folder, scene, range(first, min(lines, first + 4)), kept)
        (folder / "scenes" / f"{scene}.toml").write_text("\n".join(text), encoding="utf-8")
    return folder


def _lines(folder: Path, scene: str, numbers: range, kept: Sequence[Kept]) -> list[str]:
    text = []
    for number in numbers:
        one = kept[number % len(kept)]
        begins = 1 + 95 * (number - numbers.start)
        text.append(f'[[shot.line]]\nid = "l{number}"\ncharacter = "heron"\nbegins = {begins}')
        text.append(f'recording = "{one.source.recording}"\ntext = """{one.source.text}"""')
        breakdown_file.write(folder / "breakdowns" / scene / f"l{number}.toml", replace(one, line=f"l{number}"))
    return text
