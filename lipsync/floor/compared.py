"""What differs between two states of a shot: two printed ones, or a printed one and the present one.

In: a production, the names of two states, and the present state. Out: `Compared`, with sentences and with data for
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
from lipsync.message import Where
from lipsync.paper.sheet_words import Words
from lipsync.production.values import Production

NOW = "now"


@dataclass(frozen=True, slots=True)
class Compared:
    """Two states of a shot and what differs between them.

    Attributes:
        shot: the shot, as the command names it.
        before: the earlier state's name, such as "revision A".
        after: the later state's name.
        was: the earlier state.
        now: the later state.
        words: the words of the sheet, in which changes are told.
    """

    shot: str
    before: str
    after: str
    was: SheetState
    now: SheetState
    words: Words

    @property
    def changes(self) -> tuple[Change, ...]:
        """What changed, in the order of frames."""
        return changes(self.was, self.now)

    @property
    def sentences(self) -> tuple[str, ...]:
        """What changed, one sentence for each change."""
        return tuple(sentence_of(one, self.words, self.now.facts.first_frame) for one in self.changes)

    @property
    def record(self) -> dict[str, Any]:
        """What differs, as JSON values; frames are the production's numbers."""
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
        after: the later state's name.
        present: what a sheet of the shot would say now; None if the shot cannot be planned.

    Raises:
        InputError: if there is no such shot or state.
    """
    scene, there = production.shots(shot=shot)[0]
    path = prints.prints_in(production).of_shots.get((scene.id, there.id))
    known = Prints(there.id) if path is None else prints.read(path)
    if before is None:
        if known.newest is None:
            where, called = Where(str(production.folder / prints.FOLDER)), production.called(scene.id, there.id)
            raise InputError.of("never printed", where, shot=there.id, called=called, production=production.folder)
        before = known.newest.letter
    was, was_called = _state(production, known, path, before, present)
    now, now_called = _state(production, known, path, after, present)
    return Compared(shot, was_called, now_called, was, now, production.file.sheet.words)


def _state(
    production: Production, known: Prints, path: Path | None, name: str, present: SheetState | None
) -> tuple[SheetState, str]:
    where = Where(str(path or production.folder / prints.FOLDER))
    if name.lower() == NOW:
        if present is None:
            raise InputError.of("not planned now", where, shot=known.shot)
        return present, NOW
    found = known.named(name)
    if found is None:
        letters = ", ".join(one.letter for one in known.revisions) or "none"
        raise InputError.of("no such state", where, shot=known.shot, state=name, letters=letters, now=NOW)
    return found.state, f"revision {found.letter}"
