"""A round of doubts driven in a browser by keyboard alone: doubts planned with their answers, and what comes of them.

Which words are made doubtful, and what is wrong with them, is drawn from a seed and kept in a list. What the files
must say afterwards is told from the breakdowns as they were before, by the rules of the page's own keys; nothing of
the program takes part in it but the reader of breakdowns and the formula for the start of a frame.
"""

import random
from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from fractions import Fraction
from pathlib import Path
from typing import Any

from lipsync import timing
from lipsync.breakdown import breakdown_file
from lipsync.breakdown.breakdown_file import Kept
from lipsync.model import Part, UntoldVoice, Word

# What is wrong with a doubtful word, as often as it stands here; each with the keys that answer it.
KINDS = ["right"] * 6 + ["other word"] * 2 + ["moved", "not said", "voice without text"]
KEYS = {"right": ["r"], "other word": ["o", "Shift+Enter"], "moved": ["ArrowDown", "Enter"], "not said": ["n"]}
KEYS |= {"voice without text": ["v", "Enter"], "cue": ["1"]}
TYPED = {"other word": "lantern", "voice without text": "oh"}
VOICE_US = 100_000
FRAME_US = 1_000_000 / 24


@dataclass(frozen=True)
class Planned:
    """A doubt and its answer: the line's file, where it begins, the word (voice without text: empty), its kind."""

    path: Path
    start_us: int
    text: str
    kind: str

    @property
    def line(self) -> str:
        return self.path.stem


def plan(folder: Path, count: int, seed: int, kinds: Sequence[str] = ("right",)) -> list[Planned]:
    """Make so many words of a production doubtful, one in ten voice without text instead; return them in order."""
    chance = random.Random(seed)
    paths = sorted((folder / "breakdowns").rglob("*.toml"), key=lambda path: (path.parent.name, int(path.stem[1:])))
    order = chance.sample([*kinds], len(kinds))
    planned: list[Planned] = []
    for number, path in enumerate(paths):
        kept = breakdown_file.read(path)
        parts = [sure(part) for part in kept.computed.parts]
        wanted = count * (number + 1) // len(paths) - count * number // len(paths)
        own: list[Planned] = []
        voices: tuple[UntoldVoice, ...] = ()
        if wanted and number % 10 == 9 and (voice := silence_of(kept)):
            voices = (voice,)
            own.append(Planned(path, voice.start_us, "", "cue"))
        for k in chance.sample([k for k in range(len(parts)) if usable(kept, k)], wanted - len(own)):
            parts[k] = replace(parts[k], confidence=round(chance.uniform(0.01, 0.2), 2))
            kind = order[(len(planned) + len(own)) % len(order)]
            own.append(Planned(path, parts[k].start_us, parts[k].text, kind))
        planned += sorted(own, key=lambda one: one.start_us)
        computed = replace(kept.computed, parts=tuple(parts), voice_without_text=voices)
        breakdown_file.write(path, replace(kept, computed=computed))
    return planned


def sure(part: Part) -> Part:
    return replace(part, confidence=0.97) if isinstance(part, Word) else part


def usable(kept: Kept, k: int) -> bool:
    """Whether a part is a word with room to begin a frame later; every other one, so that no two are neighbours."""
    part = kept.computed.parts[k]
    first_us = part.phonemes[0].end_us - part.start_us if isinstance(part, Word) else 0
    return k % 2 == 1 and first_us > 1.6 * FRAME_US


def silence_of(kept: Kept) -> UntoldVoice | None:
    """Return a stretch of a line in which nothing is laid, if it has one that is long enough."""
    ends = [0, *(part.end_us for part in kept.computed.parts)]
    begins = [*(part.start_us for part in kept.computed.parts), kept.computed.duration_us]
    for end, begin in zip(ends, begins, strict=True):
        if begin - end > VOICE_US:
            return UntoldVoice(end + 10_000, begin - 10_000)
    return None


def drive(page: Any, planned: Sequence[Planned], pause_ms: int = 0) -> tuple[list[float], Counter[str]]:
    """Answer a round that is open, by keyboard alone; return how long each next sound took, and the keys."""
    keys: Counter[str] = Counter()
    for one in planned:
        shown = {"start_us": one.start_us, "line": one.line, "text": one.text}
        wait_until(page, IS_ASKED, shown)
        if pause_ms:
            page.wait_for_timeout(pause_ms)
        for key in KEYS[one.kind]:
            if key in ("Enter", "Shift+Enter") and one.kind in TYPED:
                page.keyboard.type(TYPED[one.kind])
            page.keyboard.press(key)
            keys[one.kind] += 1

    wait_until(page, "() => document.querySelector('.round-page').round.asked === null")
    # Words that are listened for take longer than answers do: all are saved before anything is looked at.
    page.evaluate("document.querySelector('.round-page').round.answering.last.then(() => null)")
    wait_until(page, "() => document.querySelector('.round-page').round.asked === null")
    counted = page.evaluate("[...document.querySelector('.round-page').round.answering.counts]")
    assert sum(count for _, count in counted) == len(planned), (counted, Counter(one.kind for one in planned))
    return page.evaluate("document.querySelector('.round-page').round.waits"), keys


IS_ASKED = """(wanted) => {
    const { asked } = document.querySelector('.round-page')?.round ?? {};
    return Boolean(asked) && asked.line.id === wanted.line && asked.item.start_us === wanted.start_us
        && document.querySelector('.asked h2')?.textContent.includes(wanted.text || 'voice without text');
}"""


def wait_until(page: Any, script: str, argument: Any = None) -> None:
    for _ in range(3000):
        if page.evaluate(script, argument):
            return
        page.wait_for_timeout(20)
    asked = "JSON.stringify(document.querySelector('.round-page').round.asked?.item ?? null)"
    raise AssertionError(
        (argument, page.evaluate(asked), page.locator("#banner, .panel [role=alert]").all_inner_texts())
    )


def expected(before: dict[Path, Kept], planned: Sequence[Planned], rate: Fraction, begins: dict[str, int]) -> Any:
    """Return, for each file, what each correction must say: the words before, the words now, where."""
    wanted: dict[Path, list[Any]] = {path: [] for path in before}
    for one in planned:
        wanted[one.path] += _expected(before[one.path], one, rate, begins)
    return {path: sorted(rows, key=str) for path, rows in wanted.items()}


def _expected(kept: Kept, one: Planned, rate: Fraction, begins: dict[str, int]) -> list[Any]:
    if one.kind == "cue":
        return [([], ["[breath]"], one.start_us)]
    parts = kept.computed.parts
    k = next(k for k, part in enumerate(parts) if part.start_us == one.start_us)
    if one.kind == "right":
        return [([one.text], [one.text], one.start_us)]
    if one.kind == "not said":
        return [([one.text], [], None)]
    if one.kind == "other word":
        return [([one.text], [TYPED["other word"]], one.start_us)]
    if one.kind == "voice without text":
        return [([], [TYPED[one.kind]], "found there"), ([one.text], [one.text], "found there")]
    us = begins[one.line] + one.start_us
    frame = int((us * rate / 1_000_000) + Fraction(1, 2)) + 1
    rows = [([one.text], [one.text], timing.frame_start_us(frame, rate) - begins[one.line])]
    if k > 0 and parts[k - 1].end_us == parts[k].start_us:  # the boundary is that of both
        rows.append(([named(parts[k - 1])], [named(parts[k - 1])], parts[k - 1].start_us))
    return rows


def found(path: Path, planned: Sequence[Planned]) -> list[Any]:
    """Return what each correction of a file says, in the same form."""
    kept = breakdown_file.read(path)
    listened = {one.text for one in planned if one.path == path and one.kind == "voice without text"}
    return sorted(_rows(kept, listened), key=str)


def _rows(kept: Kept, listened: set[str]) -> Iterator[Any]:
    for correction in kept.corrections:
        was = [named(kept.computed.parts[ref.index]) for ref in correction.replaces]
        now = [named(part) for part in correction.parts]
        where: Any = correction.parts[-1].start_us if correction.parts else None
        if now == [TYPED["voice without text"]] or (now and now[0] in listened):
            where = "found there"  # it was listened to again
        yield (was, now, where)


def named(part: Part) -> str:
    return part.text if isinstance(part, Word) else f"[{part.name}]"
