"""Which states of a shot's sheet have been printed: `prints/SCENE/SHOT.json` of a production.

Written before the sheet itself, so that every page on the floor is known. A state that is printed again keeps its
revision; one that differs from the newest gets the next letter, even where an older state comes back, so that of two
prints the later letter is always the newer. The form of the file is described in formats/prints.md.

In: a path, or a `Prints` to write. Out: a `Prints`, checked against its stamps; or the file. If a shot has moved to
another scene, its file is still found: shot_files.py.
"""

from __future__ import annotations

import json
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from lipsync.errors import InputError, Problem
from lipsync.files import write_whole
from lipsync.floor.print_tables import faults_in
from lipsync.floor.shot_files import ShotFiles, shot_files
from lipsync.floor.state import SheetState, as_data, from_data
from lipsync.production.letters import letter_of
from lipsync.production.values import Production

FORM = "lipsync prints"
NEWEST_FORM = 2
FOLDER = "prints"

_RESTORE = "take it back from version control, or delete it: prints on the floor are then unknown"


@dataclass(frozen=True, slots=True)
class Revision:
    """A state that was printed, and its letter."""

    letter: str
    state: SheetState


@dataclass(frozen=True, slots=True)
class Prints:
    """A shot's revisions, in order."""

    shot: str
    revisions: tuple[Revision, ...] = ()

    def __post_init__(self) -> None:
        for index, revision in enumerate(self.revisions):
            if revision.letter != letter_of(index):
                raise ValueError(f"revision {index + 1} is {letter_of(index)}, not {revision.letter}")

    @property
    def newest(self) -> Revision | None:
        """The revision printed last; None if there is none."""
        return self.revisions[-1] if self.revisions else None

    def before(self, letter: str) -> Revision | None:
        """Return the revision before the one with this letter; None for the first."""
        letters = [revision.letter for revision in self.revisions]
        index = letters.index(letter)
        return self.revisions[index - 1] if index else None

    def named(self, name: str) -> Revision | None:
        """Return the newest revision with this letter or stamp, in any case; None if there is none."""
        wanted = plain(name)
        found = [r for r in self.revisions if wanted in (r.letter, plain(r.state.stamp))]
        return found[-1] if found else None

    def with_state(self, state: SheetState) -> Prints:
        """Return the prints once this state has been printed: unchanged if it is what was printed last."""
        if self.newest is not None and self.newest.state.stamp == state.stamp:
            return self
        revision = Revision(letter_of(len(self.revisions)), state)
        return Prints(self.shot, (*self.revisions, revision))


def plain(name: str) -> str:
    """Return a letter or stamp as it is compared: in capitals, without dashes and blanks.

    >>> plain("abc-de 2gh")
    'ABCDE2GH'
    """
    return "".join(letter for letter in name.upper() if letter.isalnum())


def prints_in(production: Production) -> ShotFiles:
    """Return where the prints of each shot are recorded.

    Raises:
        InputError: if a shot has two such files, or they cannot be looked for.
    """
    return shot_files(production, FOLDER, ".json")


def own_place(folder: Path, scene: str, shot: str) -> Path:
    """Return where the file of a shot's prints is written if there is none yet."""
    return folder / FOLDER / scene / f"{shot}.json"


def read(path: Path) -> Prints:
    """Return the revisions that a file holds.

    Raises:
        InputError: if it cannot be read, or is not whole.
    """
    try:
        return from_bytes(path.read_bytes(), path)
    except OSError as error:
        raise InputError.one(path, "", f"cannot be read ({error.strerror}); check its permissions") from None


def from_bytes(content: bytes, path: Path) -> Prints:
    """Return the revisions that the bytes of a file hold.

    Raises:
        InputError: if they are not whole, or a stamp does not agree with what it stands for.
    """
    try:
        data: Any = json.loads(content)
        forms = [f"{FORM} {number}" for number in range(1, NEWEST_FORM + 1)]
        if data["form"] not in forms and str(data["form"]).startswith(f"{FORM} "):
            text = f"found {data['form']!r}, from a later version of this program; bring this one up to date"
            raise InputError.one(path, "form", text)
        if data["form"] not in forms or data["end"] != data["shot"]:
            raise ValueError("form or end")
        if faults := faults_in(content):
            raise InputError.one(path, "", f"does not hold what was written to it ({'; '.join(faults)}); {_RESTORE}")
        revisions = tuple(Revision(one["letter"], from_data(one)) for one in data["revisions"])
        known = Prints(str(data["shot"]), revisions)
    except (ValueError, KeyError, TypeError, AttributeError, RecursionError, ArithmeticError):
        raise InputError.one(path, "", f"does not hold what was written to it; {_RESTORE}") from None
    if false := [one for one in known.revisions if one.state.stamp != one.state.true_stamp]:
        problems = (
            Problem(
                str(path),
                f"revision {one.letter}",
                f"has the stamp {one.state.stamp}, and what it says has {one.state.true_stamp}: "
                "it is not what was on paper, and nothing is built on it",
                "take the file back from version control",
            )
            for one in false
        )
        raise InputError(problems)
    return known


def form_number_of(prints: Prints) -> int:
    """Return the lowest number of the form that can hold a shot's revisions, so that older programs read it too."""
    rows = (row for revision in prints.revisions for row in revision.state.rows)
    return 2 if any(cell.parts for row in rows for cell in row.cells) else 1


def to_bytes(prints: Prints) -> bytes:
    """Return the bytes of the file that holds a shot's revisions, one on each line."""
    rows = [
        json.dumps({"letter": one.letter, **as_data(one.state)}, ensure_ascii=False, separators=(",", ":"))
        for one in prints.revisions
    ]
    shot = json.dumps(prints.shot)
    form = json.dumps(f"{FORM} {form_number_of(prints)}")
    lines = ['{"form":' + form + ',"shot":' + shot + ',"revisions":[', ",\n".join(rows)]
    return ("\n".join(lines) + '\n],"end":' + shot + "}\n").encode()


def write(path: Path, prints: Prints) -> None:
    """Write a shot's revisions, whole or not at all.

    Raises:
        OutputError: if the file cannot be written; what was there before is untouched.
    """
    write_whole(path, to_bytes(prints))
