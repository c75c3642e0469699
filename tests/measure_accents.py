"""Counts each R that is heard and that was said, in two accents: python tests/measure_accents.py

Needs the program espeak-ng, which speaks the lines below in a British and an American voice and writes down in IPA
what it says. R is counted in the IPA (also as part of a vowel) and in the breakdown (R and ER; the vowel of "her" is
ER in ARPAbet, R or not: the last number is how often the IPA has it). Lines that are refused are left out and told.
The lines were used to choose whether a form with R is left out in non-rhotic English.
"""

from __future__ import annotations

import re
import subprocess
import tempfile
from pathlib import Path

from lipsync.align.line import listen
from lipsync.align.settings import LineSettings
from lipsync.errors import LineError

LINES = (
    "The harbour light is far away and the water is dark.",
    "Her letter arrived after the last post before dinner.",
    "There are four more parcels under the counter.",
    "I never heard a storm as hard as this before morning.",
    "Mark your card and start the car for the doctor.",
    "Ask my father to pass the glass at half past four.",
    "The better the weather, the further the fisherman rows.",
    "Our first order is for a farmer near the northern shore.",
)
SPEAKERS = (("en-gb", "american"), ("en-gb", "non-rhotic"), ("en-us", "american"))


def spoken(voice: str, text: str, path: Path) -> str:
    """Write a line as sound, and return what was said in IPA."""
    subprocess.run(["espeak-ng", "-v", voice, "-s", "150", "-w", path, text], check=True)
    said = subprocess.run(["espeak-ng", "-v", voice, "-q", "--ipa", text], check=True, capture_output=True, text=True)
    return said.stdout


def main() -> None:
    """Measure and print."""
    with tempfile.TemporaryDirectory() as folder:
        for voice, accent in SPEAKERS:
            heard, refused, ipa = [], 0, ""
            for number, text in enumerate(LINES):
                path = Path(folder, f"{voice}{number}.wav")
                said = spoken(voice, text, path)
                try:
                    heard += [one.symbol for one in listen(path, text, LineSettings(accent=accent)).phonemes]
                except LineError:
                    refused += 1
                    continue
                ipa += said
            print(
                f"{voice} heard as {accent:10}  R heard {heard.count('R'):3}, said {len(re.findall('[ɹr]', ipa)):3}"
                f"  ER heard {heard.count('ER'):3}, said with R {len(re.findall('[ɚɝ]', ipa)):3},"
                f" without {ipa.count('ɜ'):3}  lines refused {refused}"
            )


if __name__ == "__main__":
    main()
