"""Answers about prints: which one a stamp is from, whether it is still good, and what changed since.

In: a production, a stamp and the present plans. Out: a `Verdict` with its sentence and its record for programs.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from difflib import get_close_matches
from typing import Any

from lipsync.app.plan.planning import Plans, ShotPlan
from lipsync.app.print.printing import sheet_job
from lipsync.errors import InputError
from lipsync.floor import prints
from lipsync.floor.compared import NOW, Compared
from lipsync.floor.comparing import changed_rows, changes
from lipsync.floor.prints import Prints, plain
from lipsync.floor.state import SheetState, state_of
from lipsync.message import Where
from lipsync.paper.piece_pictures import Art
from lipsync.production.values import Production

# How many known stamps a fault names, and how alike they must be to the one asked for (chosen).
_MOST_LIKE, _LEAST_LIKENESS = 3, 0.7


@dataclass(frozen=True, slots=True)
class Verdict:
    """Which print a stamp is from, and whether it is still good.

    Attributes:
        stamp: the stamp as it is printed.
        shot: the shot's id.
        letters: the revisions that have this stamp, in order.
        newest: the newest revision of the shot.
        good: whether the shot's plan still is what the print says.
        sentence: the answer.
        since: what changed since; None if the print is good or the shot is no longer planned.
    """

    stamp: str
    shot: str
    letters: tuple[str, ...]
    newest: str
    good: bool
    sentence: str
    since: Compared | None = None

    @property
    def record(self) -> dict[str, Any]:
        """The answer as JSON values."""
        return {
            "stamp": self.stamp,
            "shot": self.shot,
            "revisions": list(self.letters),
            "newest": self.newest,
            "good": self.good,
            "answer": self.sentence,
            "since": None if self.since is None else self.since.record,
        }


def prints_with(production: Production, stamp: str) -> tuple[str, Prints]:
    """Return the name of the shot of which a print has this stamp, and all prints of that shot.

    Raises:
        InputError: if no print has it.
    """
    wanted = plain(stamp)
    known: list[str] = []
    files = prints.prints_in(production)
    called = {path: production.called(*key) for key, path in files.of_shots.items()}
    for path in files.all():
        found = prints.read(path)
        stamps = [one.state.stamp for one in found.revisions]
        if wanted in map(plain, stamps):
            return called.get(path, found.shot), found
        known += stamps
    near = get_close_matches(wanted, [plain(one) for one in known], _MOST_LIKE, _LEAST_LIKENESS)
    like = [one for one in known if plain(one) in near]
    kind = "no such stamp, like others" if like else "no such stamp"
    where = Where(str(production.folder / prints.FOLDER))
    raise InputError.of(kind, where, stamp=stamp, like=", ".join(dict.fromkeys(like)))


def present_state(production: Production, plans: Plans, shot: str) -> SheetState | None:
    """Return what a sheet of the shot would say now; None if it is not among the plans."""
    for one in plans.shots:
        if shot in (one.shot.id, f"{one.scene.id}/{one.shot.id}"):
            return state_now(production, one)
    return None


def state_now(production: Production, one: ShotPlan) -> SheetState:
    """Return what a sheet of a planned shot would say now."""
    art: dict[str, dict[str, Art]] = {cast.character: {} for cast in one.cast}
    return state_of([cast.character for cast in one.cast], sheet_job(production, one, art))


def is_good_still(state: SheetState, present: SheetState) -> bool:
    """Return whether a page that says `state` is still good; frames in the can do not count, as they are done."""
    return not changes(state, present) and not changed_rows(state, present)


def check_print(
    production: Production, prints_of: tuple[str, Prints], stamp: str, present: SheetState | None
) -> Verdict:
    """Return whether the print with a stamp is still good.

    Args:
        production: the production.
        prints_of: the shot and its prints (`prints_with`).
        stamp: the stamp.
        present: what a sheet would say now; None if the shot is no longer planned.
    """
    called, known = prints_of
    wanted = plain(stamp)
    same = [one for one in known.revisions if plain(one.state.stamp) == wanted]
    newest = known.revisions[-1]
    letters = tuple(one.letter for one in same)
    state = same[-1].state
    what = f"{state.stamp} is {_said(letters)} of shot {called}"
    good = present is not None and is_good_still(state, present)
    since = None
    if good:
        answer = f"{what}: still good"
        if present is not None and present.stamp != state.stamp:
            answer += " for what is left to film; on frames in the can it is not what was worn"
        elif newest.letter not in letters:
            answer += f", the shot is again as it was before revision {newest.letter}; print it anew for a new letter"
    elif present is None:
        answer = f"{what}: no longer good, the production no longer plans this shot"
    else:
        since = Compared(called, f"revision {letters[-1]}", NOW, state, present, production.file.sheet.words)
        answer = f"{what}: no longer good, {_instead(production, called, known, present)}"
    return Verdict(state.stamp, called, letters, newest.letter, good, answer, since)


def _said(letters: Sequence[str]) -> str:
    return f"revision {letters[0]}" if len(letters) == 1 else f"revisions {', '.join(letters[:-1])} and {letters[-1]}"


def _instead(production: Production, called: str, known: Prints, present: SheetState) -> str:
    newest = known.revisions[-1]
    if newest.state.stamp == present.stamp:
        return f"work from revision {newest.letter} ({newest.state.stamp})"
    command = f"lipsync sheet {production.folder} --shot {called}"
    return f"and the shot has changed since its newest print, revision {newest.letter}; print it: {command}"
