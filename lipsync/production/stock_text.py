"""`stock.toml` as text that people wrote, with what was counted put in; all else keeps every byte.

In: the file's text, the day, and for each row of it, or for new ones, what it shall say. Out: the text. What comes
out is read again with Python's own TOML reader and compared with what it should say: where people wrote it in a way
that is not changed here, it is refused.
"""

from __future__ import annotations

import datetime
import re
from collections.abc import Mapping, Sequence
from copy import deepcopy
from dataclasses import dataclass
from typing import Any

import tomli

from lipsync.production.production_text import OtherwiseWrittenError, remark_of
from lipsync.production.toml_text import loaded, written

_HEADING = re.compile(r"[ \t]*\[")
_PIECE = re.compile(r"[ \t]*\[\[[ \t]*piece[ \t]*\]\]")

StockValue = str | int | datetime.date


@dataclass(frozen=True, slots=True)
class StockEntry:
    """What a row shall say: which `[[piece]]` it is, counted from 0, or None if it is a new one."""

    at: int | None
    says: Mapping[str, StockValue]


def with_stock(text: str, counted: datetime.date, entries: Sequence[StockEntry]) -> str:
    r"""Return the text with what was counted.

    Raises:
        OtherwiseWrittenError: if it is written in a way that is not changed here.

    >>> says = {"character": "heron", "code": "REST", "there": 2}
    >>> new = with_stock("counted = 2026-12-01 # Ada\n", datetime.date(2026, 12, 5), [StockEntry(None, says)])
    >>> print(new, end="")
    counted = 2026-12-05 # Ada
    <BLANKLINE>
    [[piece]]
    character = "heron"
    code = "REST"
    there = 2
    """
    mark = "\ufeff" if text.startswith("\ufeff") else ""
    text = text.removeprefix(mark)
    wanted = deepcopy(tomli.loads(text))
    end = "\r\n" if "\r\n" in text else "\n"
    lines = text.splitlines(keepends=True)
    for entry in entries:
        if entry.at is None:
            wanted.setdefault("piece", []).append(dict(entry.says))
            continue
        old = dict(wanted["piece"][entry.at])
        wanted["piece"][entry.at].update(entry.says)
        for key, value in entry.says.items():
            if old.get(key) != value:
                first, last = _row_of(lines, entry.at)
                _put(lines, (first, last), (key, old.get(key), value), end)
    top = next((at for at, line in enumerate(lines) if _HEADING.match(line)), len(lines))
    if wanted.get("counted") != counted:
        _put(lines, (-1, top), ("counted", wanted.get("counted"), counted), end)
    wanted["counted"] = counted
    for entry in entries:
        if entry.at is None:
            _end_line(lines, end)
            says = [f"{key} = {_written(value)}{end}" for key, value in entry.says.items()]
            lines += [*([end] if lines else []), f"[[piece]]{end}", *says]
    new = "".join(lines)
    if loaded(new) != wanted:
        raise OtherwiseWrittenError
    return mark + new


def _row_of(lines: Sequence[str], at: int) -> tuple[int, int]:
    """Return where the heading of a row stands, and where the next heading does."""
    headings = [place for place, line in enumerate(lines) if _PIECE.match(line)]
    if at >= len(headings):
        raise OtherwiseWrittenError
    first = headings[at]
    return first, next((n for n in range(first + 1, len(lines)) if _HEADING.match(lines[n])), len(lines))


def _put(lines: list[str], between: tuple[int, int], said: tuple[str, Any, StockValue], end: str) -> None:
    """Put an entry in the place of the old one, or below the last one between two headings."""
    (first, last), (key, old, value) = between, said
    entry = f"{key} = {_written(value)}"
    for at in range(first + 1, last):
        if old is not None and loaded(lines[at]) == {key: old}:
            lines[at] = entry + remark_of(lines[at], {key: old}, end)
            return
    if old is not None:
        raise OtherwiseWrittenError
    while last > first + 1 and (not lines[last - 1].strip() or lines[last - 1].lstrip().startswith("#")):
        last -= 1  # what stands above the next heading is of what comes next
    if last == len(lines):
        _end_line(lines, end)
    lines.insert(last, entry + end)


def _end_line(lines: list[str], end: str) -> None:
    if lines and not lines[-1].endswith("\n"):
        lines[-1] += end


def _written(value: StockValue) -> str:
    return written(value) if isinstance(value, str) else str(value)
