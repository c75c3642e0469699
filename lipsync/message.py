"""One thing that a person should know or mend, as a value: its kind, what it is about, and its words.

The words are in wording.py, except those for faults of files, which the check of each value brings with it. Code that
asks what a message is about reads its `scene`, `shot` and `line`; no code reads its words.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from itertools import takewhile
from typing import Self

from lipsync.wording import worded


@dataclass(frozen=True, slots=True)
class Where:
    """What a message is about; a field that does not apply is empty.

    Attributes:
        file: the file that is to be looked at.
        place: where in the file, in the words of the file: `[[shot]] "010"`.
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
        place: where in the file.
        what: what is so.
        remedy: what to do; empty if nothing is to be done, or if `what` says it.
        kind: which of `wording.SENTENCES` it is, or "fault" for a fault of a file.
        scene: id of the scene that it is about; empty if it is not about a single one.
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
        """Return the message of a kind, its sentences filled in with facts.

        Raises:
            KeyError: if there is no such kind in `wording.SENTENCES`, or a fact that its sentences name is missing.
        """
        what, remedy = worded(kind, facts)
        return cls(where.file, where.place, what, remedy, kind, where.scene, where.shot, where.line)

    @property
    def text(self) -> str:
        """`what` and `remedy` as one sentence."""
        return "; ".join(part for part in (self.what, self.remedy) if part)

    def __str__(self) -> str:
        return ": ".join(part for part in (self.file, self.place, self.text) if part)

    def within(self, where: Where) -> Self:
        """Return the message with scene, shot and line of `where`; its file and place stay."""
        return replace(self, scene=where.scene, shot=where.shot, line=where.line)


# So many names are listed in a message; of more, the nearest to what was asked for (chosen).
_MOST_LISTED, _NEAREST = 24, 6


def listed(names: Sequence[str], asked: str) -> str:
    """Return names as a sentence lists them: all, or if there are many, how many and the nearest to what was asked.

    >>> listed(["010", "020"], "030")
    '010, 020'
    >>> listed([f"{at:03}" for at in range(10, 900, 10)], "125").startswith("89, such as 120, ")
    True
    >>> listed([f"{at:03}" for at in range(10, 900, 10)], "xyz")
    '89, such as 010, 020, 030, 040, 050, 060'
    """
    if len(names) <= _MOST_LISTED:
        return ", ".join(names)
    from difflib import SequenceMatcher

    like = SequenceMatcher(b=asked)

    def far(name: str) -> tuple[float, int]:
        like.set_seq1(name)
        alike = takewhile(lambda pair: pair[0] == pair[1], zip(name, asked, strict=False))
        return -like.ratio(), -len(list(alike))

    return f"{len(names)}, such as {', '.join(sorted(names, key=far)[:_NEAREST])}"
