"""Makes words, cues and breakdowns from the tables of a kept line's file.

In: raw tables. Out: values of `lipsync.model`; None in the place of each that has a fault, which is noted. Each part
is checked by itself first, then the order of the parts.
"""

from __future__ import annotations

from collections.abc import Sequence
from itertools import pairwise

from lipsync.breakdown.breakdown_faults import Faults
from lipsync.breakdown.breakdown_tables import (
    ComputedTable,
    ComputedWordTable,
    CorrectedWordTable,
    CueTable,
    PhonemeTable,
    UntoldTable,
)
from lipsync.breakdown.corrections import by_hand
from lipsync.model import Breakdown, Cue, Part, Phoneme, UntoldVoice, Word
from lipsync.timing import seconds_of
from lipsync.tomlfile import shown

WordTables = type[ComputedWordTable] | type[CorrectedWordTable]
PlacedPart = tuple[str, Part | None]


def breakdown_in(
    items: object, head: ComputedTable | None, text: str, place: str, faults: Faults
) -> Breakdown | None:
    """Return the breakdown of a [computed] table from its parts and its checked head; None if there is a fault."""
    if not isinstance(items, list):
        return None  # which is noted as a fault of the head
    placed = _parts(items, place, ComputedWordTable, faults)
    _check_order(placed, faults)
    if head is None:
        return None
    for where, part in placed:
        if part and part.end_us > head.duration_us:
            faults.add(
                where, f"ends at {part.end_s} s, but duration_s is {seconds_of(head.duration_us)}; end it earlier"
            )
    untold = [
        stretch_in(raw, f"{place} voice_without_text {index}", faults)
        for index, raw in enumerate(head.voice_without_text)
    ]
    if faults.any_in(place):
        return None
    parts = tuple(part for _, part in placed if part)
    without_text = tuple(stretch for stretch in untold if stretch)
    found = (text, head.duration_us, parts, head.voice_factor, head.effort, head.rejection, without_text)
    return faults.made(lambda: Breakdown(*found), place)


def corrected_in(items: Sequence[object], place: str, faults: Faults) -> list[Part | None]:
    """Return the parts of a correction, marked as corrected; None in the place of each that has a fault."""
    placed = _parts(items, place, CorrectedWordTable, faults)
    _check_order(placed, faults)
    return [part and by_hand(part) for _, part in placed]


def _parts(items: Sequence[object], place: str, words: WordTables, faults: Faults) -> list[PlacedPart]:
    placed: list[PlacedPart] = []
    for index, raw in enumerate(items):
        table = raw if isinstance(raw, dict) else {}
        name = f"[{table['cue']}]" if "cue" in table else table.get("word", "")
        where = f"{place} part {index} {shown(name)}" if name else f"{place} part {index}"
        placed.append((where, _cue(raw, where, faults) if "cue" in table else _word(raw, where, words, faults)))
    return placed


def stretch_in(raw: object, place: str, faults: Faults) -> UntoldVoice | None:
    """Return a stretch of voice that has no text; None where it has faults."""
    table = faults.checked(UntoldTable, raw, place)
    return None if table is None else faults.made(lambda: UntoldVoice(table.start_us, table.end_us), place)


def _cue(raw: object, place: str, faults: Faults) -> Cue | None:
    table = faults.checked(CueTable, raw, place)
    if table is None:
        return None
    return faults.made(lambda: Cue(table.cue, table.start_us, table.end_us, table.corrected), place)


def _word(raw: object, place: str, words: WordTables, faults: Faults) -> Word | None:
    table = faults.checked(words, raw, place)
    items = raw.get("phonemes") if isinstance(raw, dict) else None
    listed = items if isinstance(items, list) else []  # what is no list is a fault of the word's table
    rows = [faults.checked(PhonemeTable, item, f"{place} phoneme {i}") for i, item in enumerate(listed)]
    if table is None or None in rows:
        return None
    good = [row for row in rows if row]
    starts = [row.start_us for row in good]
    for k, (before, after) in enumerate(pairwise([*starts, table.end_us])):
        if after <= before:
            what = f"phoneme {k + 1} begins" if k + 1 < len(starts) else "end_s is"
            faults.add(
                place, f"{what} at {seconds_of(after)} s, and phoneme {k} at {seconds_of(before)} s; times must rise"
            )
            return None
    timed = zip(good, starts, [*starts[1:], table.end_us], strict=True)
    phonemes = tuple(Phoneme(r.phoneme[0], start, end, r.phoneme[1], r.level_db) for r, start, end in timed)
    return faults.made(lambda: Word(table.word, phonemes, table.origin, table.confidence, table.corrected), place)


def _check_order(placed: Sequence[PlacedPart], faults: Faults) -> None:
    for (place_before, before), (place, part) in pairwise(placed):
        if before and part and part.start_us < before.end_us:
            faults.add(
                place,
                f"begins at {part.start_s} s, before the end at {before.end_s} s of {place_before}; "
                "move one of the two",
            )
