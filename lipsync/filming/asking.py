"""Answers about prints: which one a stamp is from and whether it is still good, and what differs between two states.

In: a production, a stamp or the names of two states, and the present plans. Out: values that have their sentences and
their records for programs. A state is named by its revision's letter, by its stamp, or as `now`.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from difflib import get_close_matches
from pathlib import Path
from typing import Any

from lipsync.errors import InputError
from lipsync.filming import prints
from lipsync.filming.change_words import records_of, sentence_of
from lipsync.filming.changes import Change
from lipsync.filming.comparing import changed_rows, changes
from lipsync.filming.prints import Prints, plain
from lipsync.filming.state import State, state_of
from lipsync.production.values import Production
from lipsync.report import Report
from lipsync.sheets.pictures import Art
from lipsync.sheets.words import Words
from lipsync.steps.planning import Plans
from lipsync.steps.printing import sheet_job

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
    was: State
    now: State
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


@dataclass(frozen=True, slots=True)
class Verdict:
    """Which print a stamp is from, and whether it is still good.

    Attributes:
        stamp: as it is printed.
        shot: the shot's id.
        letters: the revisions that have this stamp, in order.
        newest: the newest revision of the shot.
        good: whether the shot's plan still is what the print says.
        sentence: the answer.
        since: what changed since, where it is no longer good and there still is such a shot.
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
        """The answer for a program."""
        return {
            "stamp": self.stamp,
            "shot": self.shot,
            "revisions": list(self.letters),
            "newest": self.newest,
            "good": self.good,
            "answer": self.sentence,
            "since": None if self.since is None else self.since.record,
        }


def prints_with(production: Production, stamp: str) -> Prints:
    """Return the prints of the shot of which one has this stamp.

    Raises:
        InputError: if no print has it.
    """
    wanted = plain(stamp)
    known: list[str] = []
    for path in prints.prints_in(production.folder).values():
        found = prints.read(path)
        stamps = [one.state.stamp for one in found.revisions]
        if wanted in map(plain, stamps):
            return found
        known += stamps
    near = get_close_matches(wanted, [plain(one) for one in known], 3, 0.7)
    like = [one for one in known if plain(one) in near]
    hint = f"; the nearest are {', '.join(dict.fromkeys(like))}" if like else ""
    text = f"no print of this production has the stamp {stamp!r}; read it again from the page's foot{hint}"
    raise InputError.one(production.folder / prints.FOLDER, "", text)


def present_state(production: Production, plans: Plans, shot: str) -> State | None:
    """Return what a sheet of the shot would say now; None if it is not among the plans."""
    for one in plans.shots:
        if one.shot.id == shot:
            art: dict[str, dict[str, Art]] = {cast.character: {} for cast in one.cast}
            return state_of([cast.character for cast in one.cast], sheet_job(production, one, art))
    return None


def about_shot(report: Report, shot: str) -> Report:
    """Return what of a report is about a shot."""
    name = f'[[shot]] "{shot}"'
    problems = tuple(one for one in report.problems if name in one.place or Path(one.file).stem == shot)
    return Report(problems, tuple(text for text in report.messages if name in text or f"/{shot}.toml: " in text))


def check_print(production: Production, known: Prints, stamp: str, present: State | None) -> Verdict:
    """Return whether the print with a stamp is still good.

    Args:
        production: the production.
        known: the shot's prints (`prints_with`).
        stamp: the stamp.
        present: what a sheet would say now; None if the shot is no longer planned.
    """
    wanted = plain(stamp)
    same = [one for one in known.revisions if plain(one.state.stamp) == wanted]
    newest = known.revisions[-1]
    letters = tuple(one.letter for one in same)
    state = same[-1].state
    what = f"{state.stamp} is {_said(letters)} of shot {known.shot}"
    good = present is not None and present.stamp == state.stamp
    since = None
    if good:
        answer = f"{what}: still good"
        if newest.letter not in letters:
            answer += f", the shot is again as it was before revision {newest.letter}; print it anew for a new letter"
    elif present is None:
        answer = f"{what}: no longer good, the production no longer plans this shot"
    else:
        since = Compared(known.shot, f"revision {letters[-1]}", NOW, state, present, production.file.sheet.words)
        answer = f"{what}: no longer good, {_instead(production, known, present)}"
    return Verdict(state.stamp, known.shot, letters, newest.letter, good, answer, since)


def _said(letters: Sequence[str]) -> str:
    return f"revision {letters[0]}" if len(letters) == 1 else f"revisions {', '.join(letters[:-1])} and {letters[-1]}"


def _instead(production: Production, known: Prints, present: State) -> str:
    newest = known.revisions[-1]
    if newest.state.stamp == present.stamp:
        return f"work from revision {newest.letter} ({newest.state.stamp})"
    command = f"lipsync sheet {production.folder} --shot {known.shot}"
    return f"and the shot has changed since its newest print, revision {newest.letter}; print it: {command}"


def compare(production: Production, shot: str, before: str | None, after: str, present: State | None) -> Compared:
    """Return what differs between two states of a shot.

    Args:
        production: the production.
        shot: the shot's id.
        before: the earlier state's name; the newest print if None.
        after: the later one's.
        present: what a sheet of the shot would say now.

    Raises:
        InputError: if there is no such state.
    """
    path = prints.prints_in(production.folder).get(shot)
    known = Prints(shot) if path is None else prints.read(path)
    if before is None:
        if known.newest is None:
            text = f"shot {shot} was never printed; first: lipsync sheet {production.folder} --shot {shot}"
            raise InputError.one(production.folder / prints.FOLDER, "", text)
        before = known.newest.letter
    was, was_called = _state(production, known, path, before, present)
    now, now_called = _state(production, known, path, after, present)
    return Compared(shot, was_called, now_called, was, now, production.file.sheet.words)


def _state(
    production: Production, known: Prints, path: Path | None, name: str, present: State | None
) -> tuple[State, str]:
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
