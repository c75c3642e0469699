"""What differs between two states of a shot: two that were printed, or one that was and the present one.

In: a production, the names of two states, and the present state. Out: `Compared`, with sentences and a record for
programs. A state is named by its revision's letter, by its stamp, or as `now`.
"""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path
from typing import Any

from lipsync.errors import InputError
from lipsync.floor import prints
from lipsync.floor.change_words import records_of, sentence_of
from lipsync.floor.changes import Change
from lipsync.floor.comparing import changed_rows, changes
from lipsync.floor.prints import Prints
from lipsync.floor.state import SheetState
from lipsync.paper.sheet_words import Words
from lipsync.production.values import Production

NOW = "now"


@dataclass(frozen=True, slots=True)
class Compared:
    """Two states of a shot and what differs between them.

    Attributes:
        shot: its id.
        before: the earlier state's name, such as "revision A".
        after: the later one's.
        was: the earlier state.
        now: the later one.
        words: what changes are told in.
    """

    shot: str
    before: str
    after: str
    was: SheetState
    now: SheetState
    words: Words

    @property
    def changes(self) -> tuple[Change, ...]:
        """What changed."""
        return changes(self.was, self.now)

    @property
    def sentences(self) -> tuple[str, ...]:
        """What changed, in words."""
        return tuple(sentence_of(one, self.words, self.now.facts.first_frame) for one in self.changes)

    @property
    def record(self) -> dict[str, Any]:
        """The same for a program."""
        base = self.now.facts.first_frame
        return {
            "shot": self.shot,
            "before": {"state": self.before, "stamp": self.was.stamp},
            "after": {"state": self.after, "stamp": self.now.stamp},
            "changed_rows": [frame + base for frame in sorted(changed_rows(self.was, self.now))],
            "changes": records_of(self.changes, self.words, base),
        }


def compare(
    production: Production, shot: str, before: str | None, after: str, present: SheetState | None
) -> Compared:
    """Return what differs between two states of a shot.

    Args:
        production: the production.
        shot: the shot, as `Production.shots` names it.
        before: the earlier state's name; the newest print if None.
        after: the later one's.
        present: what a sheet of the shot would say now.

    Raises:
        InputError: if there is no such shot or state.
    """
    scene, there = production.shots(shot=shot)[0]
    path = prints.prints_in(production).of_shots.get((scene.id, there.id))
    known = Prints(there.id) if path is None else prints.read(path)
    if before is None:
        if known.newest is None:
            text = f"shot {shot} was never printed; first: lipsync sheet {production.folder} --shot {shot}"
            raise InputError.one(production.folder / prints.FOLDER, "", text)
        before = known.newest.letter
    was, was_called = _state(production, known, path, before, present)
    now, now_called = _state(production, known, path, after, present)
    return Compared(shot, was_called, now_called, was, now, production.file.sheet.words)


def _state(
    production: Production, known: Prints, path: Path | None, name: str, present: SheetState | None
) -> tuple[SheetState, str]:
    where = path or production.folder / prints.FOLDER
    if name.lower() == NOW:
        if present is None:
            raise InputError.one(where, "", f"shot {known.shot} is not planned now, for the reasons given")
        return present, NOW
    found = known.named(name)
    if found is None:
        letters = ", ".join(one.letter for one in known.revisions) or "none"
        text = f"shot {known.shot} has no revision {name!r}; it has {letters}, and `{NOW}` for the present state"
        raise InputError.one(where, "", text)
    return found.state, f"revision {found.letter}"
