"""Learns what `lipsync/align/small_words.py` judges by: python tests/learn_small_words.py FOLDER ... [--every N].

In: folders as `measure_timing.py` reads them (`manners.py` and `synthesise_lines.py` make some). Each line is found
under its own text, with words taken out, and with a word replaced by a small one, one in each run; nothing is mended.
Out: what the best small word gains between two words of own texts and where a word was taken out; the weights of the
odds that a short word is what is said; and how many words are then wrongly judged, own ones and others.
"""

from __future__ import annotations

import argparse
import json
import random
import sys
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field, replace
from pathlib import Path

import numpy as np

sys.path.insert(0, str(Path(__file__).parent))
from measure_doubt import NEVER_LEARNED, Speech, told_of

from lipsync.align.adaptation import adapted
from lipsync.align.confidence import confidences
from lipsync.align.evidence import JOINED_US, FoundWord, stretches_of
from lipsync.align.recogniser import NotFoundError
from lipsync.align.scored_sound import ScoredSound, ScoredStretches, SlowedSound
from lipsync.align.search import find_words, refined
from lipsync.align.small_words import (
    BEFORE,
    EVEN,
    INSTEAD,
    LEAST_GAIN,
    LONGEST_US,
    MOST_GAIN,
    MOST_ODDS,
    SHORT,
    SMALL_WORDS,
    VERY_SHORT,
    SmallWordsHeard,
)
from lipsync.audio.features import RATE_HZ
from lipsync.timing import US_PER_S

TAKEN, REPLACED = 3, 2  # words of a line, one in each run
REPLACING = (
    *("the", "are", "by", "dog", "door", "kids", "talking", "cat", "under", "of"),
    *("lamp", "sea", "write", "ship", "glass", "letter", "and", "to", "a", "me"),
)
LIMITS = (25, 30, 35, 40, 45, 50)
RIDGE = 0.01


@dataclass
class Found:
    """Gains between words, of own texts and where one was taken out; figures of short words, and their truth."""

    own: list[float] = field(default_factory=list)
    taken: list[float] = field(default_factory=list)
    figures: list[list[float]] = field(default_factory=list)
    truth: list[bool] = field(default_factory=list)


def listened(speech: Speech, text: str, factor: float) -> Iterator[tuple[int, SmallWordsHeard, list[float], list]]:
    """Yield the stretches of a line: its first word, what is heard, how sure words were, and their ways."""
    words = speech.said(text)
    search = find_words(speech.samples, words, factor)
    model = adapted(ScoredStretches(speech.samples), words, search, None)
    search = refined(speech.samples, words, search.rough, factor, model)
    placed = [FoundWord(ways[one.pronunciation], one.times_us) for ways, one in zip(words, search.words, strict=True)]
    told = told_of(speech.samples, placed, factor, model)
    sure = [one.said for one in confidences([one.symbols for one in placed], told)]
    spans = [(one.start_us, one.end_us) for one in placed]
    for stretch in stretches_of(spans, len(speech.samples) * US_PER_S // RATE_HZ):
        own = slice(stretch.first, stretch.end)
        moved = [
            replace(one, times_us=tuple(time_us - stretch.start_us for time_us in one.times_us))
            for one in placed[own]
        ]
        begin, end = (us * RATE_HZ // US_PER_S for us in (stretch.start_us, stretch.end_us))
        yield (
            stretch.first,
            SmallWordsHeard(ScoredSound(SlowedSound(speech.samples[begin:end], factor), model), moved),
            sure[own],
            words[own],
        )


def learn_from(speech: Speech, found: Found) -> None:
    """Add what a recording tells."""
    factor, tokens = speech.factor, speech.row["text"].split()
    if len(speech.said(speech.row["text"])) != len(tokens):
        return
    chance = random.Random(speech.row["id"])
    taken = chance.sample(range(1, len(tokens) - 1), min(TAKEN, max(0, len(tokens) - 2)))
    runs = [("own", None, tokens)]
    runs += [("taken", at, [*tokens[:at], *tokens[at + 1 :]]) for at in taken]
    for at in chance.sample(range(len(tokens)), min(REPLACED, len(tokens))):
        other = chance.choice([word for word in REPLACING if word != tokens[at].lower()])
        runs.append(("replaced", at, [*tokens[:at], other, *tokens[at + 1 :]]))
    for kind, at, text in runs:
        try:
            for first, heard, sure, ways in listened(speech, " ".join(text), factor):
                if kind in ("own", "taken"):
                    _joints(kind, None if at is None else at - first, heard, found)
                if kind in ("own", "replaced"):
                    _words(kind, None if at is None else at - first, heard, list(zip(sure, ways, strict=True)), found)
        except NotFoundError:
            continue


def _joints(kind: str, wanted: int | None, heard: SmallWordsHeard, found: Found) -> None:
    for at in range(1, len(heard.words)):
        joined = heard.words[at].start_us - heard.words[at - 1].end_us <= JOINED_US
        if joined and (kind == "own" or at == wanted):
            gain, start_us, end_us = heard.gained_before(at)
            if end_us - start_us <= LONGEST_US:
                (found.own if kind == "own" else found.taken).append(gain)


def _words(kind: str, wanted: int | None, heard: SmallWordsHeard, known: Sequence, found: Found) -> None:
    for at, (word, (said, ways)) in enumerate(zip(heard.words, known, strict=True)):
        short = len(word.symbols) <= SHORT and word.end_us - word.start_us <= LONGEST_US
        if short and (kind == "own" or at == wanted):
            said = min(1 - 1e-9, max(1e-9, said))
            odds = float(np.clip(np.log(said / (1 - said)), -MOST_ODDS, MOST_ODDS))
            gain = float(np.clip(heard.gained_instead(at, ways), LEAST_GAIN, MOST_GAIN))
            found.figures.append([odds, gain, float(len(word.symbols) <= 2), 1.0])
            found.truth.append(kind == "own")


def weights_of(figures: np.ndarray, truth: np.ndarray) -> np.ndarray:
    """Return the logistic weights, own and other words counting alike (Newton's method)."""
    weight = np.where(truth, 1.0, truth.sum() / max(1, (~truth).sum()))
    found, ridge = np.zeros(figures.shape[1]), RIDGE * np.eye(figures.shape[1])
    for _ in range(50):
        sure = 1 / (1 + np.exp(-np.clip(figures @ found, -30, 30)))
        slope = figures.T @ (weight * (truth - sure)) - ridge @ found
        found += np.linalg.solve((figures.T * (weight * sure * (1 - sure))) @ figures + ridge, slope)
    return found


def main() -> None:
    """Learn and print."""
    parser = argparse.ArgumentParser(description="Learns what small words are judged by.")
    parser.add_argument("folders", nargs="+", type=Path)
    parser.add_argument("--every", type=int, default=1, help="only each N-th recording")
    arguments = parser.parse_args()
    found = Found()
    for folder in arguments.folders:
        rows = [json.loads(row) for row in (folder / "manifest.jsonl").read_text("utf-8").splitlines()]
        for row in [row for row in rows if row["source"] not in NEVER_LEARNED][:: arguments.every]:
            learn_from(Speech(folder, row, mended=False), found)
    own, taken = np.array(found.own), np.array(found.taken)
    print(f"{len(SMALL_WORDS)} small words; {len(own)} joints of own texts, {len(taken)} where a word was taken out")
    for limit in LIMITS:
        print(f"gain above {limit}: {100 * np.mean(own > limit):.1f} % and {100 * np.mean(taken > limit):.1f} %")
    figures, truth = np.array(found.figures), np.array(found.truth)
    print("weights (before, instead, very short, even):", *weights_of(figures, truth).round(3))
    for name, odds in (
        ("before", figures[:, 0]),
        ("as shipped", figures @ [BEFORE, INSTEAD, VERY_SHORT, EVEN]),
    ):
        print(
            f"{name}: own words doubted {int((odds[truth] < 0).sum())} of {int(truth.sum())};"
            f" others not {int((odds[~truth] >= 0).sum())} of {int((~truth).sum())}"
        )


if __name__ == "__main__":
    main()
