"""Reading the files that people edit: TOML in, a checked value out, or every fault in one go.

A fault names the file, the table and the row as the person wrote them (`[[shot]] 2 "020" [[line]] 1 begins`), what
was found and what is allowed. The checks themselves stand beside each value, as pydantic fields.
"""

from __future__ import annotations

import re
import tomllib
from collections.abc import Iterator, Sequence
from pathlib import Path
from typing import Any, TypeVar

from pydantic import BaseModel, ConfigDict, ValidationError
from pydantic_core import ErrorDetails

from lipsync.errors import InputError, Problem

_MODEL = TypeVar("_MODEL", bound=BaseModel)
_LONGEST_SHOWN = 60


class Table(BaseModel):
    """A table of a TOML file: no unknown keys, no value changed after reading."""

    model_config = ConfigDict(extra="forbid", frozen=True, str_strip_whitespace=True, populate_by_name=True)


def read_table(path: Path, model: type[_MODEL]) -> _MODEL:
    """Return the checked value of a TOML file.

    Raises:
        InputError: naming every fault of the file.
    """
    data = read_toml(path)
    try:
        return model.model_validate(data)
    except ValidationError as error:
        raise InputError(_problems(path, data, error)) from None


def read_toml(path: Path) -> dict[str, Any]:
    """Return the tables of a TOML file.

    Raises:
        InputError: if it cannot be read or is not TOML.
    """
    try:
        return tomllib.loads(path.read_text(encoding="utf-8"))
    except FileNotFoundError:
        raise InputError.one(path, "", "there is no such file; check its name and folder") from None
    except UnicodeDecodeError:
        raise InputError.one(path, "", "is no text in UTF-8; save it from an editor as plain text in UTF-8") from None
    except OSError as error:
        raise InputError.one(
            path, "", f"cannot be read ({error.strerror}); check the file and its permissions"
        ) from None
    except (tomllib.TOMLDecodeError, RecursionError) as error:
        place = re.search(r"\(at (.*)\)$", str(error))
        what = re.sub(r" \(at .*\)$", "", str(error)) or "too deeply nested"
        text = f"is not TOML here ({what}); check quotes, brackets and '='"
        raise InputError.one(path, place[1] if place else "", text) from None


def _problems(path: Path, data: object, error: ValidationError) -> Iterator[Problem]:
    for detail in error.errors(include_url=False):
        yield Problem(str(path), place_of(data, detail["loc"]), _sentence(detail))


def place_of(data: object, keys: Sequence[int | str]) -> str:
    """Return where a fault stands, in the words of the file.

    >>> place_of({"shot": [{"id": "010"}]}, ["shot", 0, "frames"])
    '[[shot]] 1 "010" frames'
    """
    words: list[str] = []
    for key in keys:
        below = _below(data, key)
        if isinstance(key, int):
            name = _name_of(below)
            words.append(f"{key + 1}" + (f' "{name}"' if name else ""))
        elif isinstance(below, list) and below and all(isinstance(item, dict) for item in below):
            words.append(f"[[{key}]]")
        elif isinstance(below, dict):
            words.append(f"[{key}]")
        elif below is not None or key == keys[-1]:
            words.append(key)
        data = below
    return " ".join(words)


def _below(data: object, key: int | str) -> Any:
    if isinstance(data, list) and isinstance(key, int) and key < len(data):
        return data[key]
    return data.get(key) if isinstance(data, dict) else None


def _name_of(row: object) -> str | None:
    """Return what a person calls a row of a table."""
    if not isinstance(row, dict):
        return None
    return next((str(row[key]) for key in ("id", "code", "name", "text") if key in row), None)


def _sentence(detail: ErrorDetails) -> str:
    found = repr(detail["input"])
    found = found if len(found) <= _LONGEST_SHOWN else found[:_LONGEST_SHOWN] + "..."
    if detail["type"] == "missing":
        return "is missing; add it"
    if detail["type"] == "extra_forbidden":
        return "is not known here; check its spelling or take it out"
    if detail["type"] == "value_error":
        return str(detail["ctx"]["error"])
    message = detail["msg"]
    return f"found {found}; {message[0].lower()}{message[1:]}"
