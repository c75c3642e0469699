"""One thing that a person should know or mend, as a value: of what kind it is, what it is about, and its words.

Its words are made in wording.py; faults of files bring their own, from the checks that stand beside each value. Who
asks what a message is about reads its scene, shot and line; nothing reads its words.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Self

from lipsync.wording import worded


@dataclass(frozen=True, slots=True)
class Where:
    """What a message is about; what is empty is not meant.

    Attributes:
        file: the file that is to be looked at.
        place: where in it, in its own words: `[[shot]] "010"`.
        scene: id of the scene.
        shot: id of the shot.
        line: id of the line.
    """

    file: str = ""
    place: str = ""
    scene: str = ""
    shot: str = ""
    line: str = ""


@dataclass(frozen=True, slots=True)
class Message:
    """One thing to know: what is so and what to do about it.

    Attributes:
        file: the file that is to be looked at; empty if none.
        place: where in it.
        what: what is so.
        remedy: what to do; empty if nothing, or if `what` says it.
        kind: which of `wording.SENTENCES` it is, or "fault" for a fault of a file.
        scene: id of the scene that it is about; empty if of none alone.
        shot: id of the shot.
        line: id of the line.

    >>> print(Message("mouthsets/heron.toml", "[phonemes] ZH", "has no shape", "name one of the set's shapes"))
    mouthsets/heron.toml: [phonemes] ZH: has no shape; name one of the set's shapes
    """

    file: str
    place: str
    what: str
    remedy: str = ""
    kind: str = "fault"
    scene: str = ""
    shot: str = ""
    line: str = ""

    @classmethod
    def of(cls, kind: str, where: Where, **facts: object) -> Self:
        """Return the message of a kind (`wording.SENTENCES`) with the facts that its sentences name."""
        what, remedy = worded(kind, facts)
        return cls(where.file, where.place, what, remedy, kind, where.scene, where.shot, where.line)

    @property
    def text(self) -> str:
        """What is so and what to do, as one sentence."""
        return "; ".join(part for part in (self.what, self.remedy) if part)

    def __str__(self) -> str:
        return ": ".join(part for part in (self.file, self.place, self.text) if part)

    def within(self, where: Where) -> Self:
        """Return the message with the scene, shot and line that it is about; its file and place stay."""
        return replace(self, scene=where.scene, shot=where.shot, line=where.line)
