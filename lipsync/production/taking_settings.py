"""How lists, edits and recordings are taken in: the table `[taking]` of production.toml, as people write it.

[taking]
recordings = "{scene}_{shot}_{line}"   # what the names of recordings say, without their ending
shots = "{scene}_{shot}"               # what the names of picture clips in an edit say
lines = "{line}"                       # a line's id; "{shot}-{line}" if the list numbers lines anew in each shot

[taking.headings]                      # the studio's own headings, and the fields that they mean
"Rolle" = "character"
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from typing import Annotated

from pydantic import AfterValidator, StringConstraints

from lipsync.production.headings import Field
from lipsync.tomlfile import Table, shown

_NAMES = ("scene", "shot", "line", "take")
_NAMED = re.compile(r"\{(\w*)\}")


def _pattern(text: str) -> str:
    named = _NAMED.findall(text)
    rest = _NAMED.sub("", text)
    if not named or "{" in rest or "}" in rest or not set(named) <= set(_NAMES) or len(set(named)) < len(named):
        allowed = ", ".join(f"{{{name}}}" for name in _NAMES)
        raise ValueError(
            f"{shown(text)} is no pattern; write each of {allowed} once at the most, and what is between"
        )
    if re.search(r"\}\{", text):
        raise ValueError(f"{shown(text)} does not say where one name ends; write a sign between them, such as _")
    return text


Pattern = Annotated[str, StringConstraints(max_length=200), AfterValidator(_pattern)]


class TakingSettings(Table):
    """How lists, edits and recordings are taken in."""

    headings: Mapping[str, Field] = {}
    recordings: Pattern = "{scene}_{shot}_{line}"
    shots: Pattern = "{scene}_{shot}"
    lines: Pattern = "{line}"


def said_in(pattern: str, name: str) -> dict[str, str] | None:
    """Return the parts of a name that fits a pattern, by what they are; None if it does not fit.

    >>> said_in("{scene}_{shot}_{line}", "01-lamp-room_010_a")
    {'scene': '01-lamp-room', 'shot': '010', 'line': 'a'}
    """
    parts = re.split(r"(\{\w+\})", pattern)
    made = "".join(
        f"(?P<{part[1:-1]}>[A-Za-z0-9][A-Za-z0-9_.-]*?)" if part.startswith("{") else re.escape(part)
        for part in parts
    )
    found = re.fullmatch(made, name, flags=re.I)
    return found.groupdict() if found else None
