"""Every state that a line was in, so that undo and redo never end, and survive the program.

In: the bytes of a line's file as it was and as it is. Out: what an undo or a redo would bring back. A state is kept
once, compressed, under the code of its bytes; the order of states is one small file, written whole. Nothing is ever
taken out: a change after an undo goes on from there, and going back further passes the states that were left, too. A
file that was changed by another program is noticed by its code and becomes a step like any other.

A step is kept before the line's file is changed, with where it came from: where the program is killed between the
two, the next one sees that the file is still as before, and goes back to the steps as they were.

    PRODUCTION/.desk/steps/SCENE/LINE/steps.json     the steps in order, and which of them stands
    PRODUCTION/.desk/steps/SCENE/LINE/CODE.z         the state of that code
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

# A state is a breakdown of some kilobytes; what unpacks to more than this is none of ours.
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
    """The steps in order, and which of them stands.

    Attributes:
        steps: in order.
        at: which of them stands.
        before: which stood before the last change; -1 if none is known.
        kept: how many there were then.
    """

    steps: tuple[HistoryStep, ...] = ()
    at: int = -1
    before: int = -1
    kept: int = 0

    @property
    def now(self) -> str | None:
        """The code of the state that stands; None before the first."""
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
        """Return the steps with one more; states that were undone stay in it, on the way back.

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
        """Return the steps with the one before (-1) or after (+1) standing."""
        return Steps(self.steps, self.at + way, self.at, len(self.steps))

    def as_before(self, version: str) -> Steps | None:
        """Return the steps as they were, if this is the state that stood before the last change; else None."""
        if 0 <= self.before < len(self.steps) and self.steps[self.before].version == version:
            return Steps(self.steps[: self.kept], self.before)
        return None


@dataclass(slots=True)
class History:
    """The states of one line, in a folder of its own.

    Attributes:
        folder: where they lie.
        unsaved: why the last step could not be kept on disk; empty if it was. It is kept in memory all the same.
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
        """Take note of what stands in the line's file: the first state, or one that another program wrote.

        If that was another desk, its steps go on where ours ended.
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
        """Note that the state one step back (-1) or on (+1) stands now."""
        self._put(self.steps.going(way), version_of(content), content)

    def back_to(self, steps: Steps, content: bytes | None) -> None:
        """Go back to the steps as they were, since the file could not be changed; None where there is none."""
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
    """Return the steps of a file; none if it is not there or not whole: then undo begins anew from what stands."""
    try:
        table = json.loads(path.read_text(encoding="utf-8"))
        steps = tuple(HistoryStep(str(version), str(what)) for version, what in table["steps"])
        at, before, kept = int(table["at"]), int(table.get("before", -1)), int(table.get("kept", 0))
    except (OSError, ValueError, KeyError, TypeError, AttributeError):
        return Steps()
    return Steps(steps, at, before, kept) if 0 <= at < len(steps) else Steps()
