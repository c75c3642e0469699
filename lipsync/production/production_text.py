"""`production.toml` as text that people wrote, one entry of one table changed in place; all else keeps every byte.

In: the file's text, a table's path, a key and its value. Out: the text. What comes out is read again with Python's
own TOML reader and compared with what it should say: where people wrote it in a way that is not changed here (a
table in one row, a value over several rows), it is refused.
"""

from __future__ import annotations

import re
from copy import deepcopy
from typing import Any

import tomli

from lipsync.production.toml_text import loaded, written

Written = str | list[str]

_HEADING = re.compile(r"[ \t]*\[[^\[]")


class OtherwiseWrittenError(Exception):
    """The entry is written in a way that is not changed here."""


def with_entry(text: str, table: tuple[str, ...], key: str, value: Written | None) -> str:
    r"""Return the text with an entry of a table set, added where it is not there; taken out with its row if None.

    Raises:
        OtherwiseWrittenError: if the table or the entry is written in a way that is not changed here.

    >>> with_entry('[sounds]\nlamp = "L"  # old\n[other]\n', ("sounds",), "lamp", "M")
    '[sounds]\nlamp = "M"  # old\n[other]\n'
    >>> with_entry('[sounds]\n# of the harbour\nlamp = "L"  # old\n[other]\n', ("sounds",), "lamp", None)
    '[sounds]\n# of the harbour\n[other]\n'
    >>> with_entry('title = "a"\n', ("sounds",), "lamp", "M")
    'title = "a"\n\n[sounds]\nlamp = "M"\n'
    """
    mark = "\ufeff" if text.startswith("\ufeff") else ""
    text = text.removeprefix(mark)
    wanted = deepcopy(tomli.loads(text))
    below = wanted
    for name in table:
        below = below.setdefault(name, {})
    old = below.get(key)
    below[key] = value
    if value is None:
        del below[key]
    new = "".join(_changed(text.splitlines(keepends=True), table, key, (old, value)))
    if loaded(new) != wanted:
        raise OtherwiseWrittenError
    return mark + new


def _changed(lines: list[str], table: tuple[str, ...], key: str, values: tuple[Any, Written | None]) -> list[str]:
    end = "\r\n" if any(line.endswith("\r\n") for line in lines) else "\n"
    old, value = values
    entry = "" if value is None else _entry(key, value)
    first = next((at for at, line in enumerate(lines) if _path(line) == table), None)
    if value is None and first is None:
        raise OtherwiseWrittenError
    if first is None:
        if lines and not lines[-1].endswith("\n"):
            lines[-1] += end
        heading = "[" + ".".join(map(_key, table)) + "]"
        return [*lines, end, heading + end, entry + end]
    last = next((at for at in range(first + 1, len(lines)) if re.match(r"[ \t]*\[", lines[at])), len(lines))
    for at in range(first + 1, last):
        if old is not None and loaded(lines[at]) == {key: old}:
            if value is None:
                return [*lines[:at], *lines[at + 1 :]]
            return [*lines[:at], entry + remark_of(lines[at], {key: old}, end), *lines[at + 1 :]]
    if value is None:
        raise OtherwiseWrittenError
    while last > first + 1 and (not lines[last - 1].strip() or lines[last - 1].lstrip().startswith("#")):
        last -= 1  # what stands above the next heading is of what comes next
    if not lines[last - 1].endswith("\n"):
        lines[last - 1] += end
    return [*lines[:last], entry + end, *lines[last:]]


def _entry(key: str, value: Written) -> str:
    value_text = written(value) if isinstance(value, str) else f"[{', '.join(map(written, value))}]"
    return f"{_key(key)} = {value_text}"


def _key(name: str) -> str:
    import tomli_w

    return tomli_w.dumps({name: ""}).partition(" = ")[0]


def _path(line: str) -> tuple[str, ...] | None:
    """Return the keys that a heading names; None if the line is none."""
    if not _HEADING.match(line) or (below := loaded(line)) is None:
        return None
    path = []
    while below:
        name, below = next(iter(below.items()))
        path.append(name)
        if not isinstance(below, dict):
            return None
    return tuple(path)


def remark_of(line: str, says: dict[str, Any], end: str) -> str:
    """Return what stands behind an entry's value in its row."""
    for found in re.finditer(r"[ \t]*#", line):
        if loaded(line[: found.start()]) == says:
            return line[found.start() :]
    return end if line.endswith("\n") else ""
