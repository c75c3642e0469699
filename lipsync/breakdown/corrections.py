"""What a person changes on a line: `Correction`, and `PieceChoice`; with what compares parts.

A `Correction` says which parts of the computed breakdown it replaces, counted from 0, and what stands there instead.
This one form serves for all changes:

    move a boundary, change phonemes, retype a word    replaces one part, stands as one
    split a word / join words                          replaces one, stands as several / the other way round
    add a cue or a word                                replaces none, stands as one, placed by its time
    delete a part                                      replaces one, stands as none

A `PieceChoice` puts a piece on a frame or forbids it there; fitting keeps to it (fit/rules.py).
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from difflib import SequenceMatcher
from itertools import pairwise

from lipsync.model import Breakdown, Cue, Part


@dataclass(frozen=True, slots=True)
class PieceChoice:
    """A piece that a person puts on a frame of the line's shot, or forbids there.

    Attributes:
        frame: the frame, from 0 in the shot.
        code: the piece's code.
        forbidden: whether it is kept off this frame, instead of put on.
    """

    frame: int
    code: str
    forbidden: bool = False

    def __post_init__(self) -> None:
        if self.frame < 0:
            raise ValueError(f"frames are counted from 0 in the shot, not {self.frame}")
        if not self.code:
            raise ValueError("name a piece by its code")


def label_of(part: Part) -> str:
    """Return a word's text, or a cue's name in brackets.

    >>> label_of(Cue("breath", 0, 1000))
    '[breath]'
    """
    return f"[{part.name}]" if isinstance(part, Cue) else part.text


def by_hand(part: Part) -> Part:
    """Return the part, marked as corrected by a person."""
    return replace(part, corrected=True)


def sound_of(part: Part) -> tuple[object, ...]:
    """Return what is heard of a part, without its times: phonemes and stress, or the cue's label."""
    if isinstance(part, Cue):
        return (label_of(part),)
    return tuple((phoneme.symbol, phoneme.stress) for phoneme in part.phonemes)


def times_of(part: Part) -> tuple[int, ...]:
    """Return every boundary of a part in microseconds: its start, and each phoneme's (or the cue's) end."""
    if isinstance(part, Cue):
        return (part.start_us, part.end_us)
    return (part.start_us, *(phoneme.end_us for phoneme in part.phonemes))


def heard_alike(one: Part, other: Part) -> bool:
    """Whether two parts have the same label, phonemes, stress and times; confidence and origin may differ."""
    return (type(one), label_of(one), sound_of(one), times_of(one)) == (
        type(other),
        label_of(other),
        sound_of(other),
        times_of(other),
    )


def all_heard_alike(one: Sequence[Part], other: Sequence[Part]) -> bool:
    """Whether two sequences of parts are heard alike, part by part."""
    return len(one) == len(other) and all(map(heard_alike, one, other))


@dataclass(frozen=True, slots=True)
class Replaced:
    """A computed part that a correction replaces.

    Attributes:
        index: its place among the computed parts, from 0.
        text: its label, so that an index which no longer fits is noticed.
        start_us: where it began when it was corrected; None if not noted. With it a later computation is compared
            with the one that the person saw.
        end_us: where it ended; None if not noted.
    """

    index: int
    text: str
    start_us: int | None = None
    end_us: int | None = None

    def __post_init__(self) -> None:
        if self.index < 0:
            raise ValueError(f"parts are counted from 0, not {self.index}")
        if (self.start_us is None) != (self.end_us is None):
            raise ValueError("note both the start and the end of the part that is replaced, or neither")
        if self.start_us is not None and self.end_us is not None and not 0 <= self.start_us < self.end_us:
            raise ValueError(f'"{self.text}" cannot have lasted from {self.start_us} us to {self.end_us} us')

    @classmethod
    def at(cls, index: int, breakdown: Breakdown) -> Replaced:
        """Return the reference to a part of a breakdown."""
        part = breakdown.parts[index]
        return cls(index, label_of(part), part.start_us, part.end_us)


@dataclass(frozen=True, slots=True)
class Correction:
    """What a person corrected: these parts stand instead of those.

    Attributes:
        replaces: computed parts in their order; none where something is added.
        parts: what stands instead, in order of time, each marked as corrected; none where something is deleted.
        note: why, in the person's words.
    """

    replaces: tuple[Replaced, ...]
    parts: tuple[Part, ...]
    note: str = ""

    def __post_init__(self) -> None:
        if not self.replaces and not self.parts:
            raise ValueError("a correction replaces a part or adds one; this one does neither")
        if any(after.index <= before.index for before, after in pairwise(self.replaces)):
            raise ValueError("the replaced parts must be named once each and in their order")
        for before, after in pairwise(self.parts):
            if after.start_us < before.end_us:
                raise ValueError(f'"{label_of(after)}" begins before "{label_of(before)}" ends')
        if not all(part.corrected for part in self.parts):
            raise ValueError("the parts of a correction are marked as corrected")

    @property
    def label(self) -> str:
        """Its name in messages: the replaced parts, else the added ones."""
        return " ".join([ref.text for ref in self.replaces] or [label_of(part) for part in self.parts])


def spelling_of(part: Part) -> str:
    """Return a part's label in small letters without punctuation around it: a key to find the same word in two texts.

    >>> from lipsync.model import Phoneme, Word
    >>> spelling_of(Word("Lantern,", (Phoneme("L", 0, 1000),)))
    'lantern'
    """
    label = " ".join(label_of(part).split())
    return label if isinstance(part, Cue) else bare_word(label)


def bare_word(text: str) -> str:
    """Return a word in small letters without the punctuation around it."""
    inner = [i for i, letter in enumerate(text) if letter.isalnum()]
    return text[inner[0] : inner[-1] + 1].casefold() if inner else text


def same_words(old: Sequence[Part], new: Sequence[Part]) -> dict[int, int]:
    """Return, for each part that is the same word or cue in both, its index in `old` -> its index in `new`."""
    blocks = _matcher(old, new).get_matching_blocks()
    return {block.a + k: block.b + k for block in blocks for k in range(block.size)}


def paired(old: Sequence[Part], new: Sequence[Part]) -> Iterator[tuple[range, range]]:
    """Yield ranges of old parts with the new parts that they became, without a gap; of one part each if possible."""
    for tag, i1, i2, j1, j2 in _matcher(old, new).get_opcodes():
        if tag in ("equal", "replace") and i2 - i1 == j2 - j1:
            yield from ((range(i1 + k, i1 + k + 1), range(j1 + k, j1 + k + 1)) for k in range(i2 - i1))
        else:
            yield range(i1, i2), range(j1, j2)


def _matcher(old: Sequence[Part], new: Sequence[Part]) -> SequenceMatcher[str]:
    return SequenceMatcher(None, [spelling_of(p) for p in old], [spelling_of(p) for p in new], autojunk=False)
