"""Makes what is kept of a line from the bytes of its file.

In: bytes that a person may have edited, cut short or broken. Out: `Kept`, or one InputError with every fault, each
with file and place. Tables are checked one by one (`breakdown_tables.py`), so that a fault in one hides none in
another; then together: order, overlaps, and whether corrections name the parts that they replace.
"""

from __future__ import annotations

from collections.abc import Sequence
from decimal import Decimal
from typing import TypeVar

import tomli

from lipsync.breakdown import breakdown_tables
from lipsync.breakdown.breakdown_faults import Faults
from lipsync.breakdown.correction_faults import correction_faults, piece_faults
from lipsync.breakdown.corrections import Correction, PieceChoice, Replaced
from lipsync.breakdown.kept import Computation, Kept, Source, check_of
from lipsync.breakdown.parts import breakdown_in, corrected_in, stretch_in
from lipsync.breakdown.writing import FORM, NEWEST_FORM
from lipsync.errors import InputError, Problem
from lipsync.timing import seconds_of
from lipsync.tomlfile import shown

Value = TypeVar("Value")


def kept_of(content: bytes, file: str) -> Kept:
    """Return what a file keeps of a line.

    Raises:
        InputError: with every fault of the file.
    """
    faults = Faults(file)
    raw = _toml(content, faults)
    _check_form(raw.get("form"), faults)
    top = faults.checked(breakdown_tables.FileTable, raw, "")
    if top is None:
        faults.found += [] if "end" in raw else [Problem(file, "", _CUT_SHORT)]
        faults.stop_if_any()
        raise AssertionError("a table without faults was refused")
    status = faults.checked(breakdown_tables.StatusTable, top.status, "[status]")
    end = faults.checked(breakdown_tables.BreakdownEndTable, top.end, "[end]")
    if end and end.of != top.line:
        faults.add("[end]", f'found of = "{end.of}"; write the line\'s id, "{top.line}"')
    source = _source(top.source, "[source]", faults)
    head = faults.checked(breakdown_tables.VouchedTable, top.computed, "[computed]")
    text = source.text if source else ""
    computed = breakdown_in(top.computed.get("parts"), head, text, "[computed]", faults)
    corrections = [_correction(item, f"[[corrected]] {i}", faults) for i, item in enumerate(top.corrected)]
    pieces = [_piece(item, f"pieces, row {i}", faults) for i, item in enumerate(top.pieces)]
    nothing_said = [stretch_in(item, f"nothing_said, row {i}", faults) for i, item in enumerate(top.nothing_said)]
    newer = None if top.newer is None else _newer(top.newer, faults)
    if computed and None not in corrections:
        faults.found += [Problem(file, *fault) for fault in correction_faults(computed, _good(corrections))]
    faults.found += [Problem(file, *fault) for fault in piece_faults(_good(pieces))]
    faults.stop_if_any()
    if not (status and source and head and computed):
        raise AssertionError("something is missing, and no fault was noted")
    return Kept(
        line=top.line,
        source=source,
        computed=computed,
        engine=head.engine,
        corrections=_good(corrections),
        checked=status.checked,
        pieces=_good(pieces),
        newer=newer,
        stale_check="" if head.check == check_of(computed) else head.check,
        nothing_said=_good(nothing_said),
    )


_CUT_SHORT = (
    "the last lines are missing, so the file may be cut short; if it is whole, add [end] with of = the line's id"
)


def _good(values: Sequence[Value | None]) -> tuple[Value, ...]:
    return tuple(value for value in values if value is not None)


def _toml(content: bytes, faults: Faults) -> dict[str, object]:
    try:
        return tomli.loads(content.decode("utf-8-sig"), parse_float=_decimal)
    except UnicodeDecodeError as error:
        faults.add(f"byte {error.start}", "is no UTF-8 text; save the file as UTF-8")
    except RecursionError:
        faults.add("", "tables or lists are nested too deeply; a breakdown needs three levels")
    except ValueError as error:  # no TOML, or what tomli does not catch, such as a number of thousands of digits
        remedy = "mend it, take it back from a backup, or delete it: then the line is listened to again"
        faults.add("", f"is no TOML: {error}; {remedy}")
    raise InputError(faults.found)


def _decimal(text: str) -> Decimal:
    try:
        return Decimal(text)
    except ArithmeticError:  # an exponent too large for Decimal
        return Decimal("inf")


def _check_form(form: object, faults: Faults) -> None:
    name, _, number = form.rpartition(" ") if isinstance(form, str) else ("", "", "")
    if name != FORM or not (number.isascii() and number.isdigit() and len(number) < 10) or int(number) < 1:
        found = "is missing" if form is None else f"found {shown(form)}"
        faults.add("form", f'{found}; a breakdown begins with form = "{FORM} 1"')
    elif int(number) > NEWEST_FORM:
        faults.add("form", f"is {number}, newer than {NEWEST_FORM}, which this program knows; update the program")
    faults.stop_if_any()


def _source(raw: object, place: str, faults: Faults) -> Source | None:
    table = faults.checked(breakdown_tables.SourceTable, raw, place)
    if table is None:
        return None
    if table.out_us is not None and table.out_us <= (table.in_us or 0):
        out_s, in_s = seconds_of(table.out_us), seconds_of(table.in_us or 0)
        faults.add(place, f"out_s, {out_s}, must be later than in_s, {in_s}")
    return Source(table.text, table.recording, table.fingerprint, table.in_us, table.out_us)


def _newer(raw: object, faults: Faults) -> Computation | None:
    table = faults.checked(breakdown_tables.NewerTable, raw, "[newer]")
    if table is None:
        return None
    source = _source(table.source, "[newer.source]", faults)
    head = faults.checked(breakdown_tables.ComputedTable, table.computed, "[newer.computed]")
    text = source.text if source else ""
    breakdown = breakdown_in(table.computed.get("parts"), head, text, "[newer.computed]", faults)
    return Computation(source, breakdown, head.engine) if source and head and breakdown else None


def _correction(raw: object, place: str, faults: Faults) -> Correction | None:
    table = faults.checked(breakdown_tables.CorrectedTable, raw, place)
    if table is None:
        return None
    refs = [_replaced(item, f"{place}, replaces {i}", faults) for i, item in enumerate(table.replaces)]
    parts = corrected_in(table.parts, place, faults)
    if None in refs or None in parts:
        return None
    return faults.made(lambda: Correction(_good(refs), _good(parts), table.note), place)


def _replaced(raw: object, place: str, faults: Faults) -> Replaced | None:
    table = faults.checked(breakdown_tables.ReplacedTable, raw, place)
    if table is None:
        return None
    return faults.made(lambda: Replaced(table.index, table.text, table.start_us, table.end_us), place)


def _piece(raw: object, place: str, faults: Faults) -> PieceChoice | None:
    table = faults.checked(breakdown_tables.PieceTable, raw, place)
    if table is None:
        return None
    if table.code and table.forbid is None:
        return PieceChoice(table.frame, table.code)
    if table.forbid and table.code is None:
        return PieceChoice(table.frame, table.forbid, forbidden=True)
    faults.add(place, 'write either code = "..." to put a piece on the frame or forbid = "..." to keep it off')
    return None
