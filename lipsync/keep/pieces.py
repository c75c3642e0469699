"""A piece that a person puts on a frame, or forbids there: carried here as written, for the fitting to keep to."""

from __future__ import annotations

from dataclasses import dataclass


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
