"""Measures acted speech without labels: python tests/measure_acted.py FOLDER [--every N] [--only PART ...].

In: a folder with `manifest.jsonl`, one JSON object a line: id, wav (a file beside it), text, style (with "F" or "M"
as a word of its own) and actor. Each actor is a character of a production: what is known of a voice is found from all
its lines (`voice_profile_of`). Out, a row for each:

    own        each line under its own text: lines without a breakdown, and told not to agree; words doubted
    replaced   one word in two replaced, one in each run, by a word unlike it: doubted, or its line told
    other      another line's text, that has less than half of the words in common: told, all doubtful for one reason
    taken out  each word taken out of the text, one in each run: told as voice without text, or a word beside it
               doubted, or its line told; and own lines in which voice without text is falsely told
    alone      each line by itself, nothing known of its voice

Nothing is learned from what is measured here. `--every N` takes each N-th line (an actor's profile is of all that are
taken), for a first look. The same lines and words are taken in every run.
"""

from __future__ import annotations

import argparse
import concurrent.futures
import json
import random
import re
import sys
import time
from collections import Counter, defaultdict
from collections.abc import Iterator, Sequence
from pathlib import Path
from typing import Any

from lipsync.align.line import VoiceLine, listen_to, pronunciations_of, voice_profile_of
from lipsync.align.settings import LineSettings
from lipsync.audio.recording import read_recording
from lipsync.errors import LineError
from lipsync.model import Breakdown
from lipsync.text.script import tokens_of

PARTS = ("own", "replaced", "other", "taken out", "alone")
REPLACED = 2  # one word in so many is replaced
NEAR_US = 60_000  # how far from a word's place voice without text may lie and still be told there

Row = dict[str, Any]
Counts = Counter[str]


def vocabulary(texts: Sequence[str]) -> list[str]:
    """Return the words that others are replaced by: those of these texts, and of `spoken_lines.txt`."""
    spoken = (Path(__file__).parent / "spoken_lines.txt").read_text("utf-8").splitlines()
    return sorted({word.strip(".,!?").lower() for text in (*texts, *spoken) for word in text.split()})


def said(text: str) -> set[tuple[str, ...]]:
    """Return the pronunciations of a word."""
    return {way.bare for way in pronunciations_of(tokens_of(text), LineSettings())[0]}


def unlike(word: str, words: Sequence[str], chance: random.Random) -> str:
    """Return a word of which no pronunciation is one of this one's."""
    while said(other := chance.choice(words)) & said(word):
        pass
    return other


def told_there(found: Breakdown, own: Breakdown, at: int) -> bool:
    """Return whether something is told where the word lies that was taken out of the text."""
    start_us, end_us = own.words[at].start_us - NEAR_US, own.words[at].end_us + NEAR_US
    untold = any(one.start_us < end_us and one.end_us > start_us for one in found.voice_without_text)
    beside = [found.words[k] for k in (at - 1, at) if 0 <= k < len(found.words)]
    return found.rejection is not None or untold or any(word.doubtful for word in beside)


class Actor:
    """All lines of one actor."""

    def __init__(self, folder: Path, rows: Sequence[Row], texts: Sequence[str]) -> None:
        """Read them."""
        self.rows = rows
        self.recordings = [read_recording(folder / row["wav"]) for row in rows]
        self.words = vocabulary(texts)
        spoken = (Path(__file__).parent / "spoken_lines.txt").read_text("utf-8").splitlines()
        self.texts = [*texts, *spoken[::8]]
        self.settings = LineSettings()

    def counts(self, parts: Sequence[str]) -> Counts:
        """Return what is counted of the parts."""
        counts: Counts = Counter()
        if set(parts) != {"alone"}:
            lines = [
                VoiceLine(one, row["text"], LineSettings())
                for one, row in zip(self.recordings, self.rows, strict=True)
            ]
            self.settings = LineSettings(voice=voice_profile_of(lines))
        for number, row in enumerate(self.rows):
            for part in parts:
                if part == "alone":
                    counts += self._own(number, row, part, LineSettings())
                elif part == "own":
                    counts += self._own(number, row, part, self.settings)
                else:
                    counts.update(self._wrong(number, row, part))
        return counts

    def _heard(self, number: int, text: str, settings: LineSettings | None = None) -> Breakdown | None:
        try:
            return listen_to(self.recordings[number], text, settings or self.settings)
        except LineError:
            return None

    def _own(self, number: int, row: Row, part: str, settings: LineSettings) -> Counts:
        found = self._heard(number, row["text"], settings)
        group = "women" if re.search(r"\bF\b", row["style"]) else "men"
        counts: Counts = Counter({f"{part} lines": 1})
        if found is None:
            return counts + Counter({f"{part} none": 1})
        doubtful = sum(word.doubtful for word in found.words)
        counts[f"{part} told"] += found.rejection is not None
        counts[f"{part} untold"] += bool(found.voice_without_text)
        counts[f"{part} lines doubted"] += doubtful > 0
        for name in (part, f"{part} {group}"):
            counts[f"{name} words"] += len(found.words)
            counts[f"{name} doubted"] += doubtful
        return counts

    def _wrong(self, number: int, row: Row, part: str) -> Iterator[str]:
        chance, words = random.Random(row["id"]), row["text"].split()
        if part == "other":
            own = set(row["text"].lower().split())
            text = chance.choice([text for text in self.texts if len(own & set(text.lower().split())) < len(own) / 2])
            found = self._heard(number, text)
            yield "other lines"
            if found is not None and found.rejection is not None and all(word.doubtful for word in found.words):
                yield "other told"
        if part == "replaced":
            for at in chance.sample(range(len(words)), -(-len(words) // REPLACED)):
                text = " ".join([*words[:at], unlike(words[at], self.words, chance), *words[at + 1 :]])
                found = self._heard(number, text)
                yield "replaced words"
                if found is None or found.rejection is not None or found.words[at].doubtful:
                    yield "replaced told"
        if part == "taken out":
            own = self._heard(number, row["text"])
            for at in range(len(words)):
                found = self._heard(number, " ".join([*words[:at], *words[at + 1 :]]))
                yield "taken out words"
                if own is None or found is None or told_there(found, own, at):
                    yield "taken out told"


def share(counts: Counts, part: str, whole: str) -> str:
    """Return a share with both numbers."""
    return f"{100 * counts[part] / max(1, counts[whole]):5.1f} %  ({counts[part]} of {counts[whole]})"


def report(counts: Counts) -> Iterator[str]:
    """Yield the rows of the table."""
    for part in ("own", "alone"):
        if counts[f"{part} lines"]:
            yield f"{part}: lines without a breakdown      {share(counts, f'{part} none', f'{part} lines')}"
            yield f"{part}: lines told not to agree        {share(counts, f'{part} told', f'{part} lines')}"
            yield f"{part}: words doubted                  {share(counts, f'{part} doubted', f'{part} words')}"
            for group in ("women", "men"):
                shown = share(counts, f"{part} {group} doubted", f"{part} {group} words")
                yield f"{part}: words of {group} doubted         {shown}"
            yield f"{part}: lines with a doubt             {share(counts, f'{part} lines doubted', f'{part} lines')}"
            yield f"{part}: voice without text told        {share(counts, f'{part} untold', f'{part} lines')}"
    for part, whole in (("replaced", "words"), ("other", "lines"), ("taken out", "words")):
        if counts[f"{part} {whole}"]:
            yield f"{part}: told or doubted                {share(counts, f'{part} told', f'{part} {whole}')}"


def _counted(folder: Path, rows: Sequence[Row], texts: Sequence[str], parts: Sequence[str]) -> Counts:
    return Actor(folder, rows, texts).counts(parts)


def main() -> None:
    """Measure and print."""
    parser = argparse.ArgumentParser(description="Measures acted speech without labels.")
    parser.add_argument("folder", type=Path, help="with manifest.jsonl and its recordings")
    parser.add_argument("--every", type=int, default=1, metavar="N", help="only each N-th line")
    parser.add_argument("--only", nargs="+", default=PARTS, choices=PARTS, help="only these parts")
    parser.add_argument("--actors", nargs="+", help="only these")
    arguments = parser.parse_args()
    rows = [json.loads(row) for row in (arguments.folder / "manifest.jsonl").read_text("utf-8").splitlines()]
    texts = sorted({row["text"] for row in rows})
    by_actor: dict[str, list[Row]] = defaultdict(list)
    for number, row in enumerate(rows):
        # The two sentences take turns in the list, so each second line of an actor would be one of them only.
        turn = number + number // arguments.every
        if turn % arguments.every == 0 and (not arguments.actors or row["actor"] in arguments.actors):
            by_actor[row["actor"]].append(row)
    began, counts = time.perf_counter(), Counter[str]()
    with concurrent.futures.ProcessPoolExecutor(2) as pool:
        tasks = [pool.submit(_counted, arguments.folder, some, texts, arguments.only) for some in by_actor.values()]
        for done, task in enumerate(concurrent.futures.as_completed(tasks), start=1):
            counts += task.result()
            print(f"{done} of {len(tasks)} actors, {time.perf_counter() - began:.0f} s", file=sys.stderr)
    print(*report(counts), sep="\n")


if __name__ == "__main__":
    main()
