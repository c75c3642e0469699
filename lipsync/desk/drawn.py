"""A mouth set as the browser draws it: the same outlines as on paper, or the studio's own pictures.

In: a mouth set, and the studio's pictures by code. Out: plain tables ready for JSON; outlines are paths of SVG in a
box 1 wide.
"""

from __future__ import annotations

import base64
import contextlib
from collections.abc import Mapping
from typing import Any

from lipsync.desk.spectrogram import png_of
from lipsync.errors import InputError
from lipsync.fit.mouthset import MouthSet
from lipsync.paper.marks import Image, Path
from lipsync.paper.mouth_drawing import drawing
from lipsync.paper.piece_pictures import Art, art_of
from lipsync.production.values import Production

Table = dict[str, Any]

_LETTERS = {"move": "M", "line": "L", "curve": "C", "close": "Z"}


def own_art(production: Production) -> dict[str, dict[str, Art]]:
    """Return the studio's own pictures; a mouth set with a broken picture (which printing reports) has none."""
    found = {}
    for character, mouth_set in production.mouth_sets.items():
        with contextlib.suppress(InputError):
            found[character] = art_of(mouth_set, production.folder / "mouthsets")
    return found


def mouth_set_view(mouth_set: MouthSet, art: Mapping[str, Art]) -> Table:
    """Return a mouth set with the drawing of each piece, as on paper."""
    return {
        "name": mouth_set.name,
        "rest": mouth_set.rest,
        "cues": sorted(mouth_set.cues),
        "pieces": [
            {
                "code": piece.code,
                "name": piece.name,
                "shape": piece.shape,
                **picture_view(art.get(piece.code) or drawing(piece.lips)),
            }
            for piece in mouth_set.piece
        ],
    }


def picture_view(art: Art) -> Table:
    """Return a mouth as paths of SVG in a box 1 wide; a studio's own picture of points as a PNG."""
    if isinstance(art, Image):
        return {"picture": f"data:image/png;base64,{base64.b64encode(png_of(art)).decode()}", "paths": []}
    return {"picture": None, "paths": [_path_view(path) for path in art]}


def _path_view(path: Path) -> Table:
    steps = (" ".join([_LETTERS[str(step[0])], *(f"{number:g}" for number in step[1:])]) for step in path.steps)
    return {"d": " ".join(steps), "fill": path.fill, "stroke": path.stroke, "width": path.line_mm}
