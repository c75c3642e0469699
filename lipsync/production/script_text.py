"""A production script as plain text, read: who says what, in order.

The usual layout (common practice): a scene's heading begins with INT. or EXT., or with a number and these; a
character's name stands in capitals on a line of its own, with an empty line above it, and what is said directly
below, up to an empty line. What stands in round brackets is not said: (V.O.), (CONT'D), (softly). Anything else is
action.

In: a path. Out: a `Listing` with a row for each speech.
"""

from __future__ import annotations

import re
from pathlib import Path

from lipsync.errors import InputError
from lipsync.production.listed import Listed, Listing
from lipsync.production.text_table import decoded

_SCENE = re.compile(
    r"\s*(?:(?P<number>[0-9]+[A-Z]?)[.)]?\s+)?(?:INT|EXT|INT\./EXT|EXT\./INT|I/E)[. ]\s*(?P<name>.+?)\s*"
)
_ASIDE = re.compile(r"\([^)]*\)")
_LONGEST_NAME = 40  # letters (chosen)


def read_script(path: Path) -> Listing:
    """Return the speeches of a script.

    Raises:
        InputError: if it cannot be read, or has no speech.
    """
    text, messages = decoded(path)
    lines = text.splitlines()
    rows: list[Listed] = []
    scene: str | None = None
    at = 0
    while at < len(lines):
        if found := _SCENE.fullmatch(lines[at]):
            scene = found["number"] or found["name"]
        elif name := _name(lines, at):
            said = []
            place = f"line {at + 1}"
            while at + 1 < len(lines) and lines[at + 1].strip():
                at += 1
                said.append(lines[at].strip())
            speech = " ".join(_ASIDE.sub(" ", " ".join(said)).split())
            if speech:
                rows.append(Listed(str(path), place, scene=scene, character=name, text=speech))
        at += 1
    if not rows:
        text = "has no speech; write each character in capitals on a line of its own, and what is said below it"
        raise InputError.one(path, "", text)
    return Listing("script", str(path), tuple(rows), messages=messages)


def _name(lines: list[str], at: int) -> str:
    """Return the name of the character whose speech begins at a line; empty if none begins there."""
    name = _ASIDE.sub("", lines[at]).strip()
    above, below = at == 0 or not lines[at - 1].strip(), at + 1 < len(lines) and bool(lines[at + 1].strip())
    fits = 0 < len(name) <= _LONGEST_NAME and name == name.upper() and any(letter.isalpha() for letter in name)
    return name if above and below and fits and not name.endswith((":", ".", "!", "?")) else ""
