"""A breakdown as two tiers of intervals, as phonetics editors show it, and back.

In and out: `Breakdown`, and for each tier its intervals without gaps from 0 to the end. The tier `words` has the
words, and the cues in brackets, such as [breath]; the tier `phonemes` has ARPAbet with stress, such as AH1. Silence
has an empty label; SIL among the phonemes is read as silence too.

A phoneme belongs to the word in whose interval its middle lies. A word lasts from the start of its first phoneme to
the end of its last; its own interval must agree with that to `APART_US`.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from difflib import SequenceMatcher
from itertools import islice, pairwise

from lipsync.breakdown.correction_faults import Fault
from lipsync.breakdown.corrections import by_hand, heard_alike, label_of, paired
from lipsync.model import Breakdown, Cue, Part, Phoneme, Word
from lipsync.phonemes import SILENCE, join_stress, split_stress
from lipsync.timing import seconds_of, us_of_seconds

WORDS, PHONEMES = "words", "phonemes"
APART_US = 1000  # chosen: finer than any hand places a boundary

# The rows of a tier as they are written: start and end in seconds, label.
Rows = Sequence[tuple[str, str, str]]


@dataclass(frozen=True, slots=True)
class Interval:
    """A stretch of a tier and its label."""

    start_us: int
    end_us: int
    label: str


def intervals_of(breakdown: Breakdown) -> dict[str, list[Interval]]:
    """Return the tiers that show a breakdown.

    Raises:
        ValueError: if a word has no letters to show.
    """
    words = [Interval(part.start_us, part.end_us, _shown(part)) for part in breakdown.parts]
    sounds = [
        Interval(p.start_us, p.end_us, "" if p.symbol == SILENCE else join_stress(p.symbol, p.stress))
        for p in breakdown.phonemes
    ]
    return {WORDS: list(_filled(words, breakdown.duration_us)), PHONEMES: sounds}


def _shown(part: Part) -> str:
    label = " ".join(label_of(part).split())  # an editor shows one line, and strips what is around it
    if not label:
        raise ValueError(f"{part} has no text to show")
    return label


def _filled(intervals: Iterable[Interval], duration_us: int) -> Iterator[Interval]:
    reached_us = 0
    for interval in (*intervals, Interval(duration_us, duration_us, "")):
        if interval.start_us > reached_us:
            yield Interval(reached_us, interval.start_us, "")
        if interval.label:
            yield interval
        reached_us = interval.end_us


def parts_in(tiers: Mapping[str, Rows], duration_us: int) -> tuple[list[Part], list[Fault]]:
    """Return the words and cues that two tiers show, and the faults in them: place and sentence."""
    reader = _Reader(duration_us, [])
    words, phonemes = reader.labelled(WORDS, tiers[WORDS]), reader.labelled(PHONEMES, tiers[PHONEMES])
    return list(reader.parts(words, list(reader.sounds(phonemes)))), reader.faults


@dataclass(frozen=True, slots=True)
class _Reader:
    """Reads the tiers of one sound, noting what is wrong."""

    duration_us: int
    faults: list[Fault]

    def note(self, tier: str, time_us: int, text: str) -> None:
        self.faults.append((f"tier {tier} at {seconds_of(time_us)} s", text))

    def labelled(self, tier: str, rows: Rows) -> list[Interval]:
        """Return the intervals that have a label; the tier must be without gaps and as long as the sound."""
        intervals: list[Interval] = []
        reached_us = 0
        for start, end, label in rows:
            try:
                interval = Interval(us_of_seconds(start), us_of_seconds(end), label.strip())
            except ValueError as error:
                self.note(tier, reached_us, str(error))
                continue
            if interval.start_us != reached_us or interval.end_us <= reached_us:
                said = f"found an interval from {start} s to {end} s"
                self.note(tier, reached_us, f"{said}; intervals must follow each other without a gap")
            elif label.strip():
                intervals.append(interval)
            reached_us = max(reached_us, interval.end_us)
        if abs(reached_us - self.duration_us) > APART_US:
            said = f"ends there, but the recording lasts {seconds_of(self.duration_us)} s"
            self.note(tier, reached_us, f"{said}; the file is cut short, or of another recording")
        elif intervals and intervals[-1].end_us > self.duration_us:
            last = intervals[-1]
            self.note(tier, last.start_us, f'"{last.label}" ends after the recording; end it earlier')
        return intervals

    def sounds(self, intervals: Iterable[Interval]) -> Iterator[Phoneme]:
        for interval in intervals:
            label = interval.label.upper()
            if label == SILENCE:
                continue
            try:
                symbol, stress = split_stress(label)
            except ValueError as error:
                self.note(PHONEMES, interval.start_us, str(error))
                symbol, stress = "AH", None  # any phoneme, so that the word is checked all the same
            yield Phoneme(symbol, interval.start_us, interval.end_us, stress)

    def parts(self, words: Iterable[Interval], phonemes: Sequence[Phoneme]) -> Iterator[Part]:
        before: Part | None = None
        left = list(phonemes)
        for word in words:
            own = [p for p in left if word.start_us <= (p.start_us + p.end_us) // 2 < word.end_us]
            left = [p for p in left if p not in own]
            part = self.part(word, own)
            if part and before and part.start_us < before.end_us:
                said = f'"{word.label}" begins before "{label_of(before)}" ends'
                self.note(WORDS, part.start_us, f"{said}; move one of the two")
            elif part:
                yield part
            before = part or before
        for phoneme in left:
            said = f'"{join_stress(phoneme.symbol, phoneme.stress)}" is in no word'
            self.note(PHONEMES, phoneme.start_us, f"{said}; label its word in tier {WORDS}, or delete it")

    def part(self, interval: Interval, phonemes: Sequence[Phoneme]) -> Part | None:
        label = interval.label
        if not phonemes:
            if len(label) > 2 and label[0] + label[-1] == "[]":
                return Cue(label[1:-1], interval.start_us, interval.end_us)
            self.note(WORDS, interval.start_us, f'"{label}" has no phonemes; add them, or write a cue as [breath]')
            return None
        known = len(self.faults)
        edges = (("begins", interval.start_us, phonemes[0].start_us), ("ends", interval.end_us, phonemes[-1].end_us))
        for what, mine_us, theirs_us in edges:
            if abs(mine_us - theirs_us) > APART_US:
                said = f'"{label}" {what} at {seconds_of(mine_us)} s, and its phonemes at {seconds_of(theirs_us)} s'
                self.note(WORDS, interval.start_us, f"{said}; move one to the other")
        for one, other in pairwise(phonemes):
            if other.start_us != one.end_us:
                self.note(PHONEMES, one.end_us, f'a silence within "{label}"; close it, or split the word in two')
        return Word(label, tuple(phonemes), "hand") if len(self.faults) == known else None


def keeping_the_same(old: Sequence[Part], new: Sequence[Part]) -> tuple[Part, ...]:
    """Return the new parts; one that is heard as its old part is replaced by it, any other is marked as corrected.

    A phoneme that the old word has too takes over its level, and its stress where the new one has none.
    """
    found: list[Part] = []
    for olds, news in paired(old, new):
        before = [old[i] for i in olds]
        after = _completed(before, [new[j] for j in news])
        if len(before) == len(after):
            found += [_old_or_new(was, now) for was, now in zip(before, after, strict=True)]
        else:
            found += [by_hand(part) for part in after]
    return tuple(found)


def _old_or_new(old: Part, new: Part) -> Part:
    if _shown(old) != _shown(new):
        return by_hand(new)
    # A label cannot hold all white space that a text can: where labels are equal, the old text is kept.
    named: Part
    if isinstance(old, Cue) and isinstance(new, Cue):
        named = replace(new, name=old.name)
    elif isinstance(old, Word) and isinstance(new, Word):
        named = replace(new, text=old.text)
    else:
        return by_hand(new)
    return old if heard_alike(old, named) else by_hand(named)


def _completed(before: Sequence[Part], after: Sequence[Part]) -> list[Part]:
    old = [p for part in before if isinstance(part, Word) for p in part.phonemes]
    new = [p for part in after if isinstance(part, Word) for p in part.phonemes]
    matcher = SequenceMatcher(None, [p.symbol for p in old], [p.symbol for p in new], autojunk=False)
    for block in matcher.get_matching_blocks():
        for k in range(block.size):
            was, now = old[block.a + k], new[block.b + k]
            stress = was.stress if now.stress is None else now.stress
            new[block.b + k] = replace(now, stress=stress, level_db=was.level_db)
    completed = iter(new)
    return [
        replace(p, phonemes=tuple(islice(completed, len(p.phonemes)))) if isinstance(p, Word) else p for p in after
    ]
