"""Makes the text of a kept line's file: TOML, one phoneme a row, so that versions can be compared row by row.

In: `Kept`. Out: text; the same value gives the same text. The form is described in `lipsync/formats/breakdown.md`;
`reading.py` reads it. Times are decimal seconds with three to six places, so that whole microseconds come back
exactly.
"""

from __future__ import annotations

from decimal import Decimal

import tomli_w

from lipsync.breakdown.corrections import Correction, PieceChoice, Replaced
from lipsync.breakdown.kept import Kept, Source, check_of
from lipsync.model import Breakdown, Cue, Part, Phoneme, UntoldVoice
from lipsync.phonemes import join_stress

FORM = "lipsync breakdown"
NEWEST_FORM = 3

Table = dict[str, object]

_HEADER = """\
# Words, cues and phonemes of one line in time. Times are seconds; parts are counted from 0. So are frames, on which a
# piece is put: the shot's first frame is 0, whatever its number on paper is.
# What is under [computed] may be computed again: write what you correct under [[corrected]], which stays.

"""


def text_of(kept: Kept) -> str:
    """Return the text of the file that keeps a line."""
    table: Table = {"form": f"{FORM} {form_number_of(kept)}", "line": kept.line}
    if kept.pieces:
        table["pieces"] = [_piece(choice) for choice in kept.pieces]
    if kept.nothing_said:
        table["nothing_said"] = [_stretch(one) for one in kept.nothing_said]
    table["status"] = {"checked": kept.checked}
    table["source"] = _source(kept.source)
    check = kept.stale_check or check_of(kept.computed)
    table["computed"] = _computed(kept.computed, {"engine": kept.engine, "check": check})
    if kept.corrections:
        table["corrected"] = [_correction(correction) for correction in kept.corrections]
    if kept.newer:
        newer = _computed(kept.newer.breakdown, {"engine": kept.newer.engine})
        table["newer"] = {"source": _source(kept.newer.source), "computed": newer}
    # The last lines: a file that was cut short lacks them.
    table["end"] = {"of": kept.line}
    return _HEADER + tomli_w.dumps(table)


def form_number_of(kept: Kept) -> int:
    """Return the lowest number of the form that can hold a line, so that older programs can read what they know."""
    if kept.nothing_said:
        return 3
    computed = [kept.computed, *([kept.newer.breakdown] if kept.newer else [])]
    return 2 if any(one.rejection or one.voice_without_text for one in computed) else 1


def seconds(time_us: int) -> Decimal:
    """Return a time in seconds as it is written: with three to six places.

    >>> [str(seconds(us)) for us in (0, 1, 1_160_000, 1_160_010)]
    ['0.000', '0.000001', '1.160', '1.16001']
    """
    whole, places = f"{Decimal(time_us).scaleb(-6):.6f}".split(".")
    return Decimal(f"{whole}.{places.rstrip('0').ljust(3, '0')}")


def _source(source: Source) -> Table:
    table: Table = {"text": source.text, "recording": source.recording, "fingerprint": source.fingerprint}
    if source.in_us is not None:
        table["in_s"] = seconds(source.in_us)
    if source.out_us is not None:
        table["out_s"] = seconds(source.out_us)
    return table


def _computed(breakdown: Breakdown, by: Table) -> Table:
    return {
        "duration_s": seconds(breakdown.duration_us),
        "voice_factor": float(breakdown.voice_factor),
        "effort": breakdown.effort,
        **_doubts(breakdown),
        **by,
        "parts": [_part(part, {"corrected": True} if part.corrected else {}) for part in breakdown.parts],
    }


def _doubts(breakdown: Breakdown) -> Table:
    """Return the keys for a rejection and for voice without text; none if there is neither."""
    table: Table = {}
    if breakdown.rejection:
        table["rejection"] = str(breakdown.rejection)
    if breakdown.voice_without_text:
        table["voice_without_text"] = [_stretch(one) for one in breakdown.voice_without_text]
    return table


def _stretch(stretch: UntoldVoice) -> Table:
    return {"start_s": seconds(stretch.start_us), "end_s": seconds(stretch.end_us)}


def _part(part: Part, mark: Table) -> Table:
    if isinstance(part, Cue):
        return {"cue": part.name, "start_s": seconds(part.start_us), "end_s": seconds(part.end_us), **mark}
    sure: Table = {} if part.confidence is None else {"confidence": float(part.confidence)}
    rows = [_row(phoneme) for phoneme in part.phonemes]
    return {"word": part.text, "from": part.origin, **sure, **mark, "phonemes": rows, "end_s": seconds(part.end_us)}


def _row(phoneme: Phoneme) -> Table:
    level: Table = {} if phoneme.level_db is None else {"level_db": float(phoneme.level_db)}
    return {"start_s": seconds(phoneme.start_us), "phoneme": join_stress(phoneme.symbol, phoneme.stress), **level}


def _correction(correction: Correction) -> Table:
    table: Table = {"note": correction.note} if correction.note else {}
    table["replaces"] = [_replaced(ref) for ref in correction.replaces]
    # All parts under [[corrected]] are corrected, so none is marked.
    table["parts"] = [_part(part, {}) for part in correction.parts]
    return table


def _replaced(ref: Replaced) -> Table:
    table: Table = {"index": ref.index, "text": ref.text}
    if ref.start_us is not None and ref.end_us is not None:
        table |= {"start_s": seconds(ref.start_us), "end_s": seconds(ref.end_us)}
    return table


def _piece(choice: PieceChoice) -> Table:
    return {"frame": choice.frame, "forbid" if choice.forbidden else "code": choice.code}
