"""Breaking files on purpose: each single thing taken away or replaced, and writing the result as TOML."""

from __future__ import annotations

import copy
import datetime
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import tomli_w

Data = dict[str, Any]
Change = Callable[[Data], object]

# What a hand may write where something else is meant.
NONSENSE = (
    "",
    "   ",
    "no such thing",
    "two\nlines",
    "x" * 3000,
    "\U0001f980",
    0,
    -1,
    10**30,
    1.5,
    float("nan"),
    float("inf"),
    True,
    [],
    [[]],
    ["a", 1],
    {},
    {"a": {"b": [1]}},
    [{}],
    datetime.date(2026, 11, 24),
    datetime.datetime(2026, 11, 24, 10, 30),
)


def written(path: Path, data: Data) -> Path:
    """Write data as TOML."""
    path.parent.mkdir(parents=True, exist_ok=True)
    path.write_text(tomli_w.dumps(data), encoding="utf-8")
    return path


def changed(data: Data, *changes: Change) -> Data:
    """Return a copy with changes."""
    data = copy.deepcopy(data)
    for change in changes:
        change(data)
    return data


def places(data: Any, above: tuple[str | int, ...] = ()) -> Iterator[tuple[str | int, ...]]:
    """Yield where each key and each row of the data is, tables and lists themselves too."""
    items = data.items() if isinstance(data, dict) else enumerate(data) if isinstance(data, list) else ()
    for key, value in items:
        yield (*above, key)
        yield from places(value, (*above, key))


def without(place: tuple[str | int, ...]) -> Change:
    """Return the change that takes away what is at a place."""

    def take(data: Any) -> None:
        *above, last = place
        for key in above:
            data = data[key]
        del data[last]

    return take


def replaced(place: tuple[str | int, ...], value: object) -> Change:
    """Return the change that puts a value at a place."""

    def put(data: Any) -> None:
        *above, last = place
        for key in above:
            data = data[key]
        data[last] = copy.deepcopy(value)

    return put
