"""Every state that a line was in: undo and redo have no limit, and survive the end of the program.

In: the bytes of a line's file before and after a change. Out: the states that an undo or a redo would bring back.
Each state is stored once, compressed, under the code of its bytes; the order of states is one small file, written
whole. Nothing is ever removed: a change after an undo continues from there, and a further undo also passes the states
that had been undone. A file that was changed by another program is noticed by its code, and becomes a step like any
other.

A step is written before the line's file is changed, together with the step before it. If the program is killed
between the two, its next run sees that the file is still the old one, and restores the steps as they were.

    PRODUCTION/.desk/steps/SCENE/LINE/steps.json     the steps in order, and which of them is current
    PRODUCTION/.desk/steps/SCENE/LINE/CODE.z         the state with that code
"""

from __future__ import annotations

import hashlib
import json
import zlib
from dataclasses import dataclass, field
from pathlib import Path

from lipsync.files import write_whole

CHANGED_OUTSIDE = "changed outside the desk"
_GONE_BACK = "back again"

# A state is a breakdown of some kilobytes; a file that unpacks to more than this was not written by the desk.
_LARGEST = 64_000_000


def version_of(content: bytes | None) -> str:
    """Return the code of a file's bytes; empty where there is no file.

    >>> version_of(None), version_of(b"form") == version_of(b"form"), version_of(b"form") == version_of(b"Form")
    ('', True, False)
    """
    return "" if content is None else hashlib.sha256(content).hexdigest()[:16]


@dataclass(frozen=True, slots=True)
class HistoryStep:
    """A state, by its code, and what led to it."""

    version: str
    what: str


@dataclass(frozen=True, slots=True)
class Steps:
    """The steps in order, and which of them is current.

    Attributes:
        steps: the steps, in order.
        at: the index of the current step.
        before: the index of the step that was current before the last change; -1 if it is not known.
        kept: how many steps there were before the last change.
    """

    steps: tuple[HistoryStep, ...] = ()
    at: int = -1
    before: int = -1
    kept: int = 0

    @property
    def now(self) -> str | None:
        """The code of the current state; None before the first step."""
        return self.steps[self.at].version if self.steps else None

    @property
    def undo(self) -> HistoryStep | None:
        """The step that an undo would take back."""
        return self.steps[self.at] if self.at > 0 else None

    @property
    def redo(self) -> HistoryStep | None:
        """The step that a redo would bring back."""
        return self.steps[self.at + 1] if self.at + 1 < len(self.steps) else None

    def then(self, version: str, what: str) -> Steps:
        """Return the steps with one more; states that were undone stay in the list, and undo passes them again.

        >>> steps = Steps().then("a", "opened").then("b", "move").then("c", "join")
        >>> back = Steps(steps.steps, at=0)
        >>> [step.version for step in back.then("d", "split").steps]
        ['a', 'b', 'c', 'a', 'd']
        """
        steps = self.steps
        if self.at + 1 < len(steps):
            steps = (*steps, HistoryStep(steps[self.at].version, _GONE_BACK))
        steps = (*steps, HistoryStep(version, what))
        return Steps(steps, len(steps) - 1, self.at, len(self.steps))

    def going(self, way: int) -> Steps:
        """Return the steps with the one before (-1) or after (+1) as the current one."""
        return Steps(self.steps, self.at + way, self.at, len(self.steps))

    def as_before(self, version: str) -> Steps | None:
        """Return the steps before the last change, if `version` is the state before that change; else None."""
        if 0 <= self.before < len(self.steps) and self.steps[self.before].version == version:
            return Steps(self.steps[: self.kept], self.before)
        return None


@dataclass(slots=True)
class History:
    """The states of one line, in a folder of its own.

    Attributes:
        folder: where they are stored.
        unsaved: why the last step could not be written to disk; empty if it was. It is in memory in any case.
    """

    folder: Path
    unsaved: str = ""
    _steps: Steps | None = None
    _from_disk: bool = False
    _states: dict[str, bytes] = field(default_factory=dict)

    @property
    def steps(self) -> Steps:
        """The steps, read from disk the first time."""
        if self._steps is None:
            self._steps, self._from_disk = _read(self.folder / "steps.json"), True
        return self._steps

    def see(self, content: bytes) -> None:
        """Note the content of the line's file: the first state, or one that another program wrote.

        If another desk wrote it, the steps of that desk are taken over: they continue this desk's.
        """
        version = version_of(content)
        if self.steps.now is None:
            self._put(self.steps.then(version, "opened"), version, content, lasting=False)
        elif self._from_disk and self.steps.now != version and (was := self.steps.as_before(version)) is not None:
            self._put(was, version, content)  # another run was killed before it changed the file
        elif self.steps.now != version:
            theirs = _read(self.folder / "steps.json")
            if theirs.now == version and not self.unsaved:
                self._steps = theirs
                return
            self._put(self.steps.then(version, CHANGED_OUTSIDE), version, content)
        self._from_disk = False

    def add(self, content: bytes, what: str) -> None:
        """Add the state that a change led to."""
        version = version_of(content)
        self._put(self.steps.then(version, what), version, content)

    def go(self, way: int, content: bytes) -> None:
        """Note that the state one step back (-1) or forward (+1) is the current one now."""
        self._put(self.steps.going(way), version_of(content), content)

    def back_to(self, steps: Steps, content: bytes | None) -> None:
        """Restore the steps before a change that failed; `content` is the line's file, None if there is none."""
        if content is None or steps.now != version_of(content):
            self._steps = steps
        else:
            self._put(steps, version_of(content), content, lasting=len(steps.steps) > 1)

    def content(self, step: int) -> bytes | None:
        """Return the bytes of a step's state; None if they are lost."""
        version = self.steps.steps[step].version
        if version in self._states:
            return self._states[version]
        try:
            unpack = zlib.decompressobj()
            found = unpack.decompress((self.folder / f"{version}.z").read_bytes(), _LARGEST)
        except (OSError, zlib.error):
            return None
        return found if version_of(found) == version else None

    def _put(self, steps: Steps, version: str, content: bytes, *, lasting: bool = True) -> None:
        from lipsync.errors import OutputError

        self._steps = steps
        self._states[version] = content
        if not lasting:
            return  # a line that was only looked at leaves no trace
        try:
            for step in {one.version for one in steps.steps} & set(self._states):
                path = self.folder / f"{step}.z"
                if not path.exists():
                    write_whole(path, zlib.compress(self._states[step], 9))
            table: dict[str, object] = {"at": steps.at, "before": steps.before, "kept": steps.kept}
            table |= {"steps": [[one.version, one.what] for one in steps.steps]}
            write_whole(self.folder / "steps.json", json.dumps(table, indent=0, ensure_ascii=False).encode())
        except OutputError as error:
            self.unsaved = str(error)
            return
        self.unsaved = ""
        self._states = {version: content}


def _read(path: Path) -> Steps:
    """Return the steps of a file; no steps if it is missing or damaged: then undo begins with the present state."""
    try:
        table = json.loads(path.read_text(encoding="utf-8"))
        steps = tuple(HistoryStep(str(version), str(what)) for version, what in table["steps"])
        at, before, kept = int(table["at"]), int(table.get("before", -1)), int(table.get("kept", 0))
    except (OSError, ValueError, KeyError, TypeError, AttributeError):
        return Steps()
    return Steps(steps, at, before, kept) if 0 <= at < len(steps) else Steps()
