"""Pieces put on frames by hand, or kept off them.

In: the record of a line and the frame and piece asked for. Out: all choices of the line, in the order of frames.
"""

from __future__ import annotations

from lipsync.breakdown.breakdown_file import Kept, PieceChoice
from lipsync.desk.boundaries import refuse
from lipsync.fit.mouthset import MouthSet


def piece_put(kept: Kept, frame: int, code: str, mouth_set: MouthSet) -> tuple[PieceChoice, ...]:
    """Return the choices with a piece put on a frame; another piece there, or a choice that forbade it, goes."""
    _check(code, mouth_set)
    rest = [one for one in kept.pieces if one.frame != frame or (one.forbidden and one.code != code)]
    return _ordered([*rest, PieceChoice(frame, code)])


def piece_forbidden(kept: Kept, frame: int, code: str, mouth_set: MouthSet) -> tuple[PieceChoice, ...]:
    """Return the choices with a piece kept off a frame."""
    _check(code, mouth_set)
    rest = [one for one in kept.pieces if (one.frame, one.code) != (frame, code)]
    off = {one.code for one in rest if one.frame == frame and one.forbidden} | {code}
    if off.issuperset(mouth_set.by_code):
        raise refuse("only piece left", code=code)
    return _ordered([*rest, PieceChoice(frame, code, forbidden=True)])


def frame_freed(kept: Kept, frame: int) -> tuple[PieceChoice, ...]:
    """Return the choices without any for a frame."""
    return tuple(one for one in kept.pieces if one.frame != frame)


def _check(code: str, mouth_set: MouthSet) -> None:
    if code not in mouth_set.by_code:
        raise refuse("piece that is not there", code=code, known=", ".join(mouth_set.by_code))


def _ordered(choices: list[PieceChoice]) -> tuple[PieceChoice, ...]:
    return tuple(sorted(choices, key=lambda one: (one.frame, one.forbidden, one.code)))
