"""The studio's own pictures of each character's pieces; one that cannot be read stops nothing.

In: a production. Out: for each character the pictures that can be read, by code, and problems of the others. A piece
without a picture is drawn from what its lips do.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace

from lipsync.app.work.sparing import spared
from lipsync.errors import Problem
from lipsync.fit.mouthset import MouthSet
from lipsync.message import Where
from lipsync.paper.piece_pictures import KEPT_POINTS, Art, load
from lipsync.production.values import Production
from lipsync.report import Report


@dataclass(frozen=True, slots=True)
class Pictures:
    """The pictures that can be read, by character and code, and what is to be said of the others."""

    art: Mapping[str, Mapping[str, Art]]
    report: Report


def pictures_of(production: Production, only: Iterable[str] | None = None, points: int = KEPT_POINTS) -> Pictures:
    """Return the studio's own pictures.

    Args:
        production: the production.
        only: the ids of the characters meant; all if None.
        points: how many points are kept along a picture's longer side.
    """
    problems: dict[Problem, None] = {}
    meant = production.mouth_sets if only is None else only
    art = {who: set_pictures(production, production.mouth_sets[who], problems, points) for who in meant}
    return Pictures(art, Report(tuple(problems)))


def set_pictures(
    production: Production, mouth_set: MouthSet, problems: dict[Problem, None], points: int = KEPT_POINTS
) -> dict[str, Art]:
    """Return the pictures of a mouth set; what is wrong with those that cannot be read is added to `problems`."""
    found: dict[str, Art] = {}
    folder = production.folder / "mouthsets"
    for piece in mouth_set.piece:
        if piece.picture is not None:
            faults: list[Problem] = []
            with spared(faults, Where(str(folder / piece.picture))):
                found[piece.code] = load(folder / piece.picture, points)
            place = f"picture of {piece.code} of {mouth_set.name}"
            problems.update({replace(one, place=place, remedy=_also(one.remedy)): None for one in faults})
    return found


def _also(remedy: str) -> str:
    return "; ".join(part for part in (remedy, "it is drawn instead") if part)
