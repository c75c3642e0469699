"""Reads the files that people edit: TOML in, a checked value out, or every fault in one go.

A fault names the file, the table and the row as the person wrote them (`[[shot]] 2 "020" [[line]] 1 begins`), what
was found and what is allowed. The checks themselves are in the pydantic models of each room. No value is converted:
"96" is no number, and true is not 1.
"""

from __future__ import annotations

import datetime
import re
from collections.abc import Iterable, Iterator, Mapping, Sequence
from decimal import Decimal
from pathlib import Path
from typing import Any, Self, TypeVar

import tomli
from pydantic import BaseModel, ConfigDict, ValidationError, model_validator
from pydantic_core import ErrorDetails

from lipsync.errors import InputError, Problem
from lipsync.standing import standing

_TABLE = TypeVar("_TABLE", bound="Table")
_LONGEST_SHOWN = 60  # characters of a name or value in a sentence; chosen

# Type of a pydantic error -> what is allowed. Names in braces are values that pydantic gives with the error (`ctx`).
_ALLOWED = {
    "string_type": "write text in quotes",
    "string_too_short": "write at least {min_length} character",
    "string_too_long": "write at most {max_length} characters",
    "bool_type": "write true or false",
    "int_type": "write a whole number",
    "int_parsing_size": "write a smaller number",
    "float_type": "write a number",
    "finite_number": "write a number",
    "greater_than": "more than {gt} is allowed",
    "greater_than_equal": "{ge} or more is allowed",
    "less_than_equal": "{le} or less is allowed",
    "literal_error": "allowed are {expected}",
    "dict_type": "write a table",
    "model_type": "write a table",
    "mapping_type": "write a table",
    "is_instance_of": "write a table",
    "tuple_type": "write a list in [ ]",
    "list_type": "write a list in [ ]",
    "too_short": "write at least {min_length}",
    "too_long": "write {max_length} of them",
    "date_type": "write a date, such as 2026-11-24, without quotes",
    "date_from_datetime_inexact": "write a date, such as 2026-11-24, without a time",
}


class _ContradictionError(ValueError):
    """What `Table.faults` tells; `what_stands` asks it again, of what stands of the table."""


class Table(BaseModel):
    """A table of a TOML file: no unknown keys, no value changed after reading."""

    model_config = ConfigDict(extra="forbid", frozen=True, str_strip_whitespace=True)

    def faults(self) -> Iterator[tuple[str, str]]:
        """Yield where one part of the table contradicts another: place and sentence.

        For a broken file it is called on what stands of it: broken fields, rows and entries are None there.
        """
        return iter(())

    @model_validator(mode="after")
    def _without_faults(self) -> Self:
        found = [f"{place}: {text}" for place, text in self.faults()]
        if found:
            raise _ContradictionError("\n".join(found))
        return self


def read_table(path: Path, model: type[_TABLE], remedy: str = "check its name and folder") -> _TABLE:
    """Return the checked value of a TOML file; `remedy` is what to do if there is no such file.

    Raises:
        InputError: naming every fault of the file.
    """
    return table_of(path, bytes_of(path, remedy), model)


def table_of(path: Path, content: bytes, model: type[_TABLE]) -> _TABLE:
    """Return the checked value of a TOML file from its bytes; `path` names the file in faults.

    Raises:
        InputError: naming every fault of the file.
    """
    table, problems = what_stands(path, tables_of(path, content), model)
    if problems or table is None:
        raise InputError(problems)
    return table


def read_what_stands(
    path: Path, model: type[_TABLE], remedy: str = "check its name and folder"
) -> tuple[_TABLE | None, tuple[Problem, ...]]:
    """Return the value of a TOML file and its faults.

    If there are faults, the broken fields, rows and entries of the value are None, whatever their type says, so that
    the rest can be checked against other files. If the file is missing or no TOML, the value itself is None.
    """
    try:
        data = read_toml(path, remedy)
    except InputError as error:
        return None, error.problems
    return what_stands(path, data, model)


def what_stands(
    path: Path, data: dict[str, Any], model: type[_TABLE], context: object = None
) -> tuple[_TABLE | None, tuple[Problem, ...]]:
    """Return the value of the tables of a TOML file, as `read_what_stands` does; `path` names the file in faults."""
    try:
        return model.model_validate(_with_tuples(data), strict=True, context=context), ()
    except ValidationError as error:
        rest = standing(model, _with_tuples(data), context)
        details = error.errors(include_url=False)
        return rest, (*_problems(path, data, details), *_contradictions(path, data, rest, details))


def read_toml(path: Path, remedy: str = "check its name and folder") -> dict[str, Any]:
    """Return the tables of a TOML file; `remedy` is what to do if there is no such file.

    Raises:
        InputError: if it cannot be read or is not TOML.
    """
    return tables_of(path, bytes_of(path, remedy))


def bytes_of(path: Path, remedy: str = "check its name and folder") -> bytes:
    """Return what a file holds; `remedy` is what to do if there is no such file.

    Raises:
        InputError: if it cannot be read.
    """
    try:
        return path.read_bytes()
    except FileNotFoundError:
        raise InputError.one(path, "", f"there is no such file; {remedy}") from None
    except OSError as error:
        raise InputError.one(
            path, "", f"cannot be read ({error.strerror}); check the file and its permissions"
        ) from None


def tables_of(path: Path, content: bytes) -> dict[str, Any]:
    """Return the tables of a TOML file from its bytes; `path` names the file in faults.

    Raises:
        InputError: if they are not TOML.
    """
    try:
        # Some editors begin a file with a byte order mark, which is no part of its text.
        return tomli.loads(content.decode("utf-8-sig").replace("\r\n", "\n"))
    except UnicodeDecodeError:
        raise InputError.one(path, "", "is no text in UTF-8; save it from an editor as plain text in UTF-8") from None
    except (ValueError, RecursionError) as error:  # a TOMLDecodeError, or a number too long for Python to read
        place = re.search(r"\(at (.*)\)$", str(error))
        what = "too deeply nested" if isinstance(error, RecursionError) else re.sub(r" \(at .*\)$", "", str(error))
        text = f"is not TOML here ({what}); check quotes, brackets and '='"
        raise InputError.one(path, place[1] if place else "", text) from None


def _with_tuples(value: Any) -> Any:
    """Return TOML's value with tuples for lists, as a strict reading wants them."""
    if isinstance(value, dict):
        return {key: _with_tuples(item) for key, item in value.items()}
    return tuple(_with_tuples(item) for item in value) if isinstance(value, list) else value


def _problems(path: Path, data: object, details: Sequence[ErrorDetails]) -> Iterator[Problem]:
    for detail in details:
        if not isinstance(detail.get("ctx", {}).get("error"), _ContradictionError):
            yield Problem(str(path), place_of(data, detail["loc"]), _sentence(detail))


def _contradictions(
    path: Path, data: object, rest: object, details: Sequence[ErrorDetails], keys: tuple[int | str, ...] = ()
) -> Iterator[Problem]:
    """Yield where parts of a broken table, or of those in it, contradict each other; `keys` lead to `rest`."""
    if not any(detail["loc"][: len(keys)] == keys for detail in details):
        return
    inside: Iterable[tuple[int | str, object]] = ()
    if isinstance(rest, Table):
        for place, text in rest.faults():
            yield Problem(str(path), f"{place_of(data, keys)} {place}".strip(), text)
        fields = type(rest).model_fields.items()
        inside = [(field.alias or name, getattr(rest, name)) for name, field in fields]
    elif isinstance(rest, Mapping):
        inside = rest.items()
    elif isinstance(rest, tuple):
        inside = enumerate(rest)
    for key, one in inside:
        yield from _contradictions(path, data, one, details, (*keys, key))


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
            words.append(f"{key + 1}" + (f' "{_plain(name)}"' if name else ""))
        elif isinstance(below, list) and below and all(isinstance(item, dict) for item in below):
            words.append(f"[[{_plain(key)}]]")
        elif isinstance(below, dict):
            words.append(f"[{_plain(key)}]")
        elif key != "[key]":  # which pydantic adds if the name itself is at fault
            words.append(_plain(key))
        data = below
    return " ".join(words)


def _below(data: object, key: int | str) -> Any:
    if isinstance(data, list) and isinstance(key, int) and key < len(data):
        return data[key]
    return data.get(key) if isinstance(data, dict) else None


def _plain(name: str) -> str:
    """Return a name as it is shown in a sentence: printable and shortened."""
    name = name if name.isprintable() else repr(name)[1:-1]
    return name if len(name) <= _LONGEST_SHOWN else name[:_LONGEST_SHOWN] + "..."


def _name_of(row: object) -> str | None:
    """Return what a row of a table is called by: its id, code, name or text; None if it has none."""
    if not isinstance(row, dict):
        return None
    return next((str(row[key]) for key in ("id", "code", "name", "text") if key in row), None)


def _sentence(detail: ErrorDetails) -> str:
    if detail["type"] == "missing":
        return "is missing; add it"
    if detail["type"] == "extra_forbidden":
        return "is not known here; check its spelling or take it out"
    return found_and_allowed(detail)


def found_and_allowed(detail: ErrorDetails) -> str:
    """Return what was found in the place of a value, and what is allowed there."""
    if detail["type"] == "value_error":
        return str(detail["ctx"]["error"]).replace(repr(detail["input"]), shown(detail["input"]))
    found = shown(detail["input"])
    message = detail["msg"]
    allowed = _ALLOWED.get(detail["type"], f"{message[0].lower()}{message[1:]}".replace("{", "{{").replace("}", "}}"))
    values = detail.get("ctx", {}).items()
    as_written = {name: f"{value:.12g}" if isinstance(value, float) else value for name, value in values}
    return f"found {found}; {allowed.format(**as_written)}"


def shown(value: object) -> str:
    """Return a value as a person wrote it, shortened.

    >>> shown((1, "a")), shown(True), shown(datetime.date(2026, 11, 24)), shown(Decimal("0.440"))
    ("[1, 'a']", 'true', '2026-11-24', '0.440')
    """
    if isinstance(value, bool):
        return str(value).lower()
    if isinstance(value, datetime.date | datetime.time):
        return str(value)
    text = str(value) if isinstance(value, Decimal) else repr(_with_lists(value))
    return text if len(text) <= _LONGEST_SHOWN else text[:_LONGEST_SHOWN] + "..."


def _with_lists(value: Any) -> Any:
    """Return a value with lists for tuples, as a person wrote it."""
    if isinstance(value, dict):
        return {key: _with_lists(item) for key, item in value.items()}
    return [_with_lists(item) for item in value] if isinstance(value, tuple) else value
