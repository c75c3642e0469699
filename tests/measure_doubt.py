"""Measures doubt against labelled speech: python tests/measure_doubt.py FOLDER ... [--learn].

In: folders as `measure_timing.py` reads them (`synthesise_lines.py` makes one); a row may name its `speaker`, else
its source is one. Lines without labels are used too, but for exactness. Out, by source and for all:

    wrong words   one word of a text replaced by another, drawn from all texts with a fixed seed, none of whose
                  pronunciations is the word's own: the share flagged at the threshold that flags 2 % of own texts'
                  words, and at the threshold that ships, with what that flags of own words
    calibration   the mean distance between confidence and the share that is right, over ten bins of confidence, of
                  words of own texts; a word is right if each of its phonemes that a label is paired with
                  (`measure_timing.py` says how) begins within a frame at 24 of it
    neighbours    of wrong words, of words missing from the recording (one more in the text) and of words said twice
                  (cut into the recording again, with 0.1 s behind it): how far other words move against the own text
    other texts   of whole texts that are another line's, how many are told not to agree

Held out: the tables are learned without the speaker measured. As shipped: with the tables in the package. `--learn`
first writes those anew, from own texts and wrong words before anything is mended, without the speakers in
`NEVER_LEARNED`, whose licence or trust forbids it.
"""

from __future__ import annotations

import argparse
import collections
import concurrent.futures
import json
import math
import random
import sys
import time
import tomllib
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, field, replace
from pathlib import Path
from typing import Any

import numpy as np

sys.path.insert(0, str(Path(__file__).parent))
from measure_timing import FRAME_S, pairs, settings_of

from lipsync.align import confidence
from lipsync.align.acoustic_model import AcousticModel
from lipsync.align.adaptation import adapted
from lipsync.align.aligning import cleared
from lipsync.align.competing_paths import Symbols
from lipsync.align.evidence import Evidence, FoundWord, WordSpan, stretches_of
from lipsync.align.line import pronunciations_of
from lipsync.align.own_model import heard_by_own_model
from lipsync.align.recogniser import NotFoundError, Samples
from lipsync.align.rejection import agrees
from lipsync.align.scored_sound import ScoredSound, ScoredStretches, SlowedSound
from lipsync.align.search import AlignedWord, Alignment, find_words
from lipsync.align.voice import find_factor
from lipsync.audio.features import RATE_HZ
from lipsync.audio.recording import read_recording
from lipsync.files import write_whole
from lipsync.model import DOUBTFUL_BELOW
from lipsync.phonemes import PHONEMES
from lipsync.text.script import tokens_of
from lipsync.timing import US_PER_S, us_of_seconds

NEVER_LEARNED = frozenset(["timit-crowsetta"])
REPLACED = {"exact": 6, "hand": 16, "none": 16}  # words of a line replaced, one in each run, by label
TABLE = Path(confidence.__file__).parent / "data" / "doubt.toml"
FALSE_FLAGS = 0.02
PEOPLE = 3.0  # how much a person's word counts against a synthesised one in learning how exact boundaries are
STEEPER = 3.0  # chosen: the curve of what is said, about the threshold, for own words are mostly sure
RIDGE = 3.0
PAUSE_S = 0.1


@dataclass
class Case:
    """A line under one text: what was found and what is told of it.

    Attributes:
        row: of the list of recordings.
        kind: own, replaced, missing, twice or other.
        at: the word that is wrong; None in own and other texts.
        words: the phonemes of each word.
        told: what is told of each, before anything is mended.
        right: whether each is right to a frame, None where no label says.
        confidences: as shipped, mended.
        moved_us: by how much the start of each other word moved against its own text, mended.
        refused: whether the line is told not to agree.
    """

    row: dict[str, Any]
    kind: str
    at: int | None
    words: list[Symbols] = field(default_factory=list)
    told: list[Evidence] = field(default_factory=list)
    right: list[bool | None] = field(default_factory=list)
    confidences: list[float] = field(default_factory=list)
    moved_us: list[float] = field(default_factory=list)
    refused: bool = False

    @property
    def speaker(self) -> str:
        """Who speaks, or the source where the list does not say."""
        return str(self.row.get("speaker", self.row["source"]))

    @property
    def person(self) -> bool:
        """Whether a person speaks."""
        return bool(self.row["labels"] != "exact")


# Collecting


class Speech:
    """One recording, ready to be searched under any text."""

    def __init__(self, folder: Path, row: dict[str, Any], mended: bool = True) -> None:
        """Read it, and find its voice factor under its own text; `mended`: whether lines are."""
        self.mended = mended
        self._settings = settings_of(row)
        self.row = row
        self.recording = read_recording(folder / row["wav"], self._settings.in_us, self._settings.out_us)
        self.samples = cleared(self.recording.samples)
        self.factor = find_factor([(self.samples, self.said(row["text"]))])

    def said(self, text: str) -> list[list[Symbols]]:
        """Return the pronunciations of each word."""
        tokens = tokens_of(text, self.recording.path)
        return [[one.bare for one in ways] for ways in pronunciations_of(tokens, self._settings)]

    def case(
        self, kind: str, text: str, at: int | None, samples: Samples | None = None
    ) -> tuple[Case, Alignment | None]:
        """Return what is found under a text, before and after mending."""
        sound, words, case = self.samples if samples is None else samples, self.said(text), Case(self.row, kind, at)
        try:
            search = find_words(sound, words, self.factor)
        except NotFoundError:
            return replace(case, refused=True), None
        placed = [
            FoundWord(ways[one.pronunciation], one.times_us) for ways, one in zip(words, search.words, strict=True)
        ]
        model = adapted(ScoredStretches(sound), words, search, None)
        case.words, case.told = [one.symbols for one in placed], told_of(sound, placed, self.factor, model)
        if not self.mended:
            return case, search
        line = heard_by_own_model(sound, words, search, None)
        case.confidences = [one.confidence for one in line.confidences]
        case.refused = not agrees(line)
        return case, line.search


def told_of(sound: Samples, placed: Sequence[FoundWord], factor: float, model: AcousticModel) -> list[Evidence]:
    """Return what is told of each word under a model, as it was found."""
    told: list[Evidence] = []
    for stretch in stretches_of([(one.start_us, one.end_us) for one in placed], len(sound) * US_PER_S // RATE_HZ):
        own = [
            replace(one, times_us=tuple(time_us - stretch.start_us for time_us in one.times_us))
            for one in placed[stretch.first : stretch.end]
        ]
        begin, end = (us * RATE_HZ // US_PER_S for us in (stretch.start_us, stretch.end_us))
        told += WordSpan(ScoredSound(SlowedSound(sound[begin:end], factor), model), own).evidence()
    return told


def right_to_a_frame(
    row: dict[str, Any], words: Sequence[Symbols], found: Sequence[AlignedWord]
) -> list[bool | None]:
    """Return for each word whether all its phonemes that a label is paired with begin within a frame of it."""
    right: list[bool | None] = [None] * len(words)
    if not row.get("phones"):
        return right
    timed, owner = [], {}
    for place, (word, heard) in enumerate(zip(words, found, strict=True)):
        for k, symbol in enumerate(word):
            timed.append((symbol, heard.times_us[k] / US_PER_S, heard.times_us[k + 1] / US_PER_S))
            owner[id(timed[-1])] = place
    for ours, theirs in pairs(timed, [tuple(phone) for phone in row["phones"]]):
        place, near = owner[id(ours)], abs(ours[1] - theirs[1]) <= FRAME_S
        right[place] = near if right[place] is None else bool(right[place] and near)
    return right


def cases_of(speech: Speech, texts: Sequence[str]) -> Iterator[Case]:
    """Yield a recording under its own text and under wrong ones; `texts` are all there are.

    Where lines are not mended, only what is learned from: under its own text, and with words replaced.
    """
    row, chance = speech.row, random.Random(speech.row["id"])
    own, search = speech.case("own", row["text"], None)
    if search is None or len(own.words) != len(row["text"].split()):
        return  # cues, or figures: which word of the text is which is not told by spaces
    found = zip(speech.said(row["text"]), search.words, strict=True)
    own.right = right_to_a_frame(row, [ways[one.pronunciation] for ways, one in found], search.words)
    yield own
    vocabulary = sorted({word for text in texts for word in text.split()})
    tokens, said = row["text"].split(), speech.said(row["text"])
    for at in chance.sample(range(len(tokens)), min(len(tokens), REPLACED[row["labels"]])):
        other = unlike(speech, said[at], vocabulary, chance)
        case, found = speech.case("replaced", " ".join([*tokens[:at], other, *tokens[at + 1 :]]), at)
        yield moved(case, found, search, lambda k, at=at: k if k != at else None)
    if not speech.mended:
        return
    at, other = chance.randrange(len(tokens) + 1), chance.choice(vocabulary)
    case, found = speech.case("missing", " ".join([*tokens[:at], other, *tokens[at:]]), at)
    yield moved(case, found, search, lambda k: k - (k > at) if k != at else None)
    yield twice(speech, search, chance.randrange(len(tokens)))
    length = len(row["text"])
    alike = [text for text in texts if text != row["text"] and 0.6 * length < len(text) < 1.4 * length]
    if alike:
        yield speech.case("other", chance.choice(alike), None)[0]


def unlike(speech: Speech, said: Sequence[Symbols], vocabulary: Sequence[str], chance: random.Random) -> str:
    """Return a word of which no pronunciation is one of these."""
    while True:
        other = chance.choice(vocabulary)
        if not set(said) & set(speech.said(other)[0]):
            return other


def moved(case: Case, found: Alignment | None, own: Alignment, place: Callable[[int], int | None]) -> Case:
    """Add by how much the other words moved; `place` gives each word's place in the own text."""
    for k, heard in enumerate(found.words if found else ()):
        at = place(k)
        if at is not None:
            case.moved_us.append(abs(heard.times_us[0] - own.words[at].times_us[0]))
    return case


def twice(speech: Speech, own: Alignment, at: int) -> Case:
    """Return a line in which one word is said twice."""
    begin_us, end_us = own.words[at].times_us[0], own.words[at].times_us[-1]
    begin, end = (us * RATE_HZ // US_PER_S for us in (begin_us, end_us))
    pause = np.zeros(round(PAUSE_S * RATE_HZ), np.int16)
    sound = np.concatenate([speech.samples[:end], pause, speech.samples[begin:]])
    case, found = speech.case("twice", speech.row["text"], at, sound)
    later_us = us_of_seconds(PAUSE_S) + end_us - begin_us
    for k, heard in enumerate(found.words if found else ()):
        if k != at:
            case.moved_us.append(abs(heard.times_us[0] - own.words[k].times_us[0] - (later_us if k > at else 0)))
    return case


# Learning


Table = dict[str, dict[str, float]]


def curve(values: np.ndarray, truth: np.ndarray, weight: np.ndarray) -> np.ndarray:
    """Return the weights of the logistic curve that fits best, the last one for a constant (Newton's method)."""
    middle, spread = values.mean(axis=0), values.std(axis=0) + 1e-9
    known = np.hstack([(values - middle) / spread, np.ones((len(values), 1))])
    ridge = np.eye(known.shape[1]) * RIDGE
    ridge[-1, -1] = 0.0
    found = np.zeros(known.shape[1])
    for _ in range(50):
        sure = 1 / (1 + np.exp(-np.clip(known @ found, -30, 30)))
        slope = known.T @ (weight * (truth - sure)) - ridge @ found
        found += np.linalg.solve((known.T * (weight * sure * (1 - sure))) @ known + ridge, slope)
    raw = found[:-1] / spread
    return np.append(raw, found[-1] - (raw * middle).sum())


def durations(cases: Sequence[Case]) -> dict[str, float]:
    """Return for each phoneme the mean logarithm of its ticks in own texts, drawn a little to that of all."""
    logs = collections.defaultdict(list)
    for case in cases:
        for word, told in zip(case.words, case.told, strict=True):
            for symbol, ticks in zip(word, told.lasts, strict=True):
                logs[symbol].append(math.log(max(1.0, ticks)))
    middle = np.mean([one for some in logs.values() for one in some])
    return {symbol: float((sum(logs[symbol]) + 5 * middle) / (len(logs[symbol]) + 5)) for symbol in sorted(PHONEMES)}


def learn(cases: Sequence[Case]) -> Table:
    """Return the tables of `data/doubt.toml`."""
    own = [case for case in cases if case.kind == "own"]
    wrong = [case for case in cases if case.kind == "replaced"]
    lasts = durations(own)
    rows, truth, weight = [], [], []
    share = sum(len(case.words) for case in own) / len(wrong)
    for case in (*own, *wrong):
        for place, (said, _) in enumerate(confidence.figures(case.words, case.told, lasts)):
            if case.kind == "own" or place == case.at:
                rows.append(list(said.values()))
                names = list(said)
                truth.append(case.kind == "own")
                weight.append((PEOPLE if case.person else 1.0) * (1.0 if truth[-1] else share))
    values = np.array(rows)
    found = curve(values, np.array(truth, float), np.array(weight))
    odds = values[np.array(truth)] @ found[:-1]
    found[-1] = -np.quantile(odds, FALSE_FLAGS)
    table: Table = {"said": named(names, STEEPER * found)}
    rows, truth, weight = [], [], []
    for case in own:
        for right, (_, exact) in zip(case.right, confidence.figures(case.words, case.told, lasts), strict=True):
            if right is not None:
                rows.append(list(exact.values()))
                names = list(exact)
                truth.append(right)
                weight.append(PEOPLE if case.person else 1.0)
    found = curve(np.array(rows), np.array(truth, float), np.array(weight))
    return {**table, "exact": named(names, found), "lasts": lasts}


def named(names: Sequence[str], weights: np.ndarray) -> dict[str, float]:
    """Return a table of weights."""
    return {**dict(zip(names, (float(one) for one in weights), strict=False)), "even": float(weights[-1])}


HEAD = """\
# The curves of doubt (lipsync/align/confidence.py says what each figure is); learned, do not edit.
# From: flite's voices saying tests/spoken_lines.txt (tests/synthesise_lines.py), and recordings of people under the
# MIT and BSD licences: praatio, phonlab, polyglotdb (labelled by hand), and acted and read lines without labels.
# Made by: python tests/measure_doubt.py FOLDER ... --learn

"""


def write_table(table: Table, path: Path) -> None:
    """Write `doubt.toml`."""
    lines = [HEAD]
    for name, values in table.items():
        rows = (f"{json.dumps(key) if not key.isalpha() else key} = {value:.5g}" for key, value in values.items())
        lines += [f"[{name}]\n", *(f"{row}\n" for row in rows), "\n"]
    text = "".join(lines).rstrip("\n") + "\n"
    write_whole(path, text.encode())


# Printing


def judged(cases: Sequence[Case], table: Table) -> list[list[float]]:
    """Return the confidence of each word of each case under a table, nothing mended."""
    return [
        [
            confidence.judge(table, one, told).confidence
            for one, told in zip(confidence.figures(case.words, case.told, table["lasts"]), case.told, strict=True)
        ]
        for case in cases
    ]


def held_out(cases: Sequence[Case]) -> list[list[float]]:
    """Return the same under a table that was learned without the speaker."""
    found: dict[int, list[float]] = {}
    for speaker in sorted({case.speaker for case in cases}):
        others = [case for case in cases if case.speaker != speaker and case.speaker not in NEVER_LEARNED]
        table = learn(others)
        own = [k for k, case in enumerate(cases) if case.speaker == speaker]
        found |= dict(zip(own, judged([cases[k] for k in own], table), strict=True))
    return [found[k] for k in range(len(cases))]


Chosen = Callable[[Case], bool]


def wrong_words(cases: Sequence[Case], sure: Sequence[Sequence[float]], chosen: Chosen) -> str:
    """Return the shares of wrong words flagged, at 2 % false flags and at the threshold that ships."""
    own = [one for case, some in zip(cases, sure, strict=True) if case.kind == "own" and chosen(case) for one in some]
    wrong = [
        some[case.at]
        for case, some in zip(cases, sure, strict=True)
        if case.kind == "replaced" and chosen(case) and some
    ]
    if not own or not wrong:
        return "none"
    at = float(np.quantile(own, FALSE_FLAGS))
    shares = [
        100 * float(np.mean(np.array(some) < limit))
        for some, limit in ((wrong, at), (wrong, DOUBTFUL_BELOW), (own, DOUBTFUL_BELOW))
    ]
    return (
        f"{len(wrong):5} wrong, {len(own):5} own words: {shares[0]:5.1f} % flagged at 2 % (below {at:.2f});"
        f" as shipped (below {DOUBTFUL_BELOW}) {shares[1]:5.1f} % flagged, {shares[2]:4.1f} % of own"
    )


def calibration(cases: Sequence[Case], sure: Sequence[Sequence[float]], chosen: Chosen) -> str:
    """Return the calibration error over ten bins, and how many were right."""
    pairs_ = [
        (one, right)
        for case, some in zip(cases, sure, strict=True)
        if case.kind == "own" and chosen(case)
        for one, right in zip(some, case.right, strict=True)
        if right is not None
    ]
    if not pairs_:
        return "no labels"
    told, right = (np.array(some, float) for some in zip(*pairs_, strict=True))
    bins = np.minimum((told * 10).astype(int), 9)
    error = sum(
        float(np.mean(bins == k)) * abs(float(told[bins == k].mean() - right[bins == k].mean())) for k in set(bins)
    )
    return (
        f"{len(told):5} words: error {error:.3f}, mean confidence {told.mean():.3f}, right {right.mean():.3f};"
        f" bins {' '.join(f'{right[bins == k].mean():.2f}/{int((bins == k).sum())}' for k in sorted(set(bins)))}"
    )


def neighbours(cases: Sequence[Case], kind: str) -> str:
    """Return how the word that is wrong is doubted, and how far the others moved."""
    some = [case for case in cases if case.kind == kind and not case.refused]
    moves = [one for case in some for one in case.moved_us]
    flagged = [case.confidences[case.at] < DOUBTFUL_BELOW for case in some if case.at is not None]
    beside = [one < DOUBTFUL_BELOW for case in some for k, one in enumerate(case.confidences) if k != case.at]
    near = np.array(moves) <= FRAME_S * US_PER_S
    return (
        f"{len(some):5} lines: {100 * np.mean(flagged):5.1f} % doubted; of the others {100 * np.mean(beside):4.1f} %,"
        f" and they begin within a frame of their own text's times in {100 * np.mean(near):5.1f} %"
    )


def report(cases: Sequence[Case]) -> Iterator[str]:
    """Yield the rows of the report."""
    groups: dict[str, Chosen] = {
        source: (lambda case, source=source: case.row["source"] == source)
        for source in dict.fromkeys(case.row["source"] for case in cases)
    }
    groups |= {
        "people": lambda case: case.person,
        "synthesised": lambda case: not case.person,
        "labelled and synthesised": lambda case: case.row["labels"] != "none",
        "all": lambda case: True,
    }
    for name, sure in (
        ("held out", held_out(cases)),
        ("as shipped", judged(cases, tomllib.loads(TABLE.read_text()))),
    ):
        for group, chosen in groups.items():
            yield f"{name:10} wrong words  {group:25} {wrong_words(cases, sure, chosen)}"
        for group, chosen in groups.items():
            yield f"{name:10} calibration  {group:25} {calibration(cases, sure, chosen)}"
    for kind in ("replaced", "missing", "twice"):
        yield f"mended     {kind:12} {neighbours(cases, kind)}"
    for kind in ("own", "replaced", "other"):
        some = [case for case in cases if case.kind == kind]
        long = [case.refused for case in some if len(case.row["text"].split()) > 3]
        count = sum(case.refused for case in some)
        yield f"refused    {kind:12} {count} of {len(some)}; longer than three words {sum(long)} of {len(long)}"


def main() -> None:
    """Measure and print."""
    parser = argparse.ArgumentParser(description="Measure doubt against labelled speech.")
    parser.add_argument("folders", type=Path, nargs="+", help="with manifest.jsonl or labels.jsonl")
    parser.add_argument("--every", type=int, default=1, metavar="N", help="only each N-th synthesised line")
    parser.add_argument("--learn", action="store_true", help="write the table that ships anew")
    arguments = parser.parse_args()
    rows: list[tuple[Path, dict[str, Any]]] = []
    for folder in arguments.folders:
        lists = [path for name in ("manifest.jsonl", "labels.jsonl") if (path := folder / name).is_file()]
        found = [json.loads(row) for path in lists[:1] for row in path.read_text("utf-8").splitlines()]
        exact = [row for row in found if row["labels"] == "exact"]
        rows += [(folder, row) for row in found if row["labels"] != "exact"]
        rows += [(folder, row) for row in exact[:: arguments.every]]
    if not rows:
        raise SystemExit(f"{arguments.folders}: no manifest.jsonl or labels.jsonl with lines")
    if arguments.learn:
        write_table(learn([one for one in collected(rows, False) if one.speaker not in NEVER_LEARNED]), TABLE)
    for line in report(collected(rows, True)):
        print(line)


Rows = Sequence[tuple[Path, dict[str, Any]]]


def collected(rows: Rows, mended: bool) -> list[Case]:
    """Return the cases of all recordings, heard by all processors at once; told on the terminal as it goes."""
    texts = sorted({row["text"] for _, row in rows if "[" not in row["text"]})
    began, cases = time.perf_counter(), []
    with concurrent.futures.ProcessPoolExecutor() as pool:
        some = pool.map(_collected, *zip(*((folder, row, texts, mended) for folder, row in rows), strict=True))
        for done, found in enumerate(some, start=1):
            cases += found
            print(f"{done} of {len(rows)} recordings, {time.perf_counter() - began:.0f} s", file=sys.stderr, end="\r")
    return cases


def _collected(folder: Path, row: dict[str, Any], texts: Sequence[str], mended: bool) -> list[Case]:
    return list(cases_of(Speech(folder, row, mended), texts))


if __name__ == "__main__":
    main()
