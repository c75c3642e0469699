"""The picture of each piece: the studio's own if the mouth set names one, else drawn from what its lips do.

In: a mouth set and the folder in which its pictures lie. Out: a picture for each code, read and checked once and
made small enough to print. PNG and JPEG are read as points, SVG as outlines (svg.py).
"""

from __future__ import annotations

import warnings
from collections.abc import Mapping
from dataclasses import replace
from pathlib import Path as FilePath
from typing import TYPE_CHECKING

import numpy as np

from lipsync.errors import InputError, Problem
from lipsync.fit.mouthset import MouthSet, Piece
from lipsync.folders import is_folder
from lipsync.paper.marks import Drawing, Image, Mark, Path, Picture
from lipsync.paper.mouth_drawing import HEIGHT, drawing, height

if TYPE_CHECKING:
    from PIL import Image as PillowImage

# A studio's picture, or outlines in the box of mouth_drawing.py.
Art = Image | tuple[Path, ...]

# A larger picture is a mistake (chosen): 50 million points, some 8,000 by 6,000.
MOST_POINTS = 50_000_000

# Points kept along the longer side: at 20 mm, as on a mouth chart, 300 to the inch (common practice in print).
KEPT_POINTS = 240

_FORMATS = ("PNG", "JPEG")

# How much of a row's height a picture takes at most, so that none touches the next (chosen).
_ROW_PART = 0.92


def art_of(mouth_set: MouthSet, folder: FilePath) -> dict[str, Art]:
    """Return the studio's picture of each piece that has one.

    Args:
        mouth_set: the mouth set.
        folder: where its pictures lie.

    Raises:
        InputError: naming every file that is missing, huge or no picture.
    """
    pictures: dict[str, Art] = {}
    problems: list[Problem] = []
    for piece in mouth_set.piece:
        if piece.picture is not None:
            try:
                pictures[piece.code] = load(folder / piece.picture)
            except InputError as error:
                place = f"picture of {piece.code} of {mouth_set.name}"
                problems += [replace(problem, place=place) for problem in error.problems]
    if problems:
        raise InputError(problems)
    return pictures


def load(file: FilePath, kept_points: int = KEPT_POINTS) -> Art:
    """Return a picture: points upright, on white, made small; or outlines.

    Raises:
        InputError: if it is missing, huge or no picture.
    """
    from PIL import Image as PillowImage  # loaded only for studios with pictures of their own

    if is_folder(file):
        raise InputError.one(file, "", "is a folder; name the picture in it")
    try:
        if file.suffix.lower() == ".svg":
            from lipsync.paper.svg import outlines

            return outlines(file)
        with warnings.catch_warnings():
            # The size is checked here, before the picture is unpacked.
            warnings.simplefilter("ignore", PillowImage.DecompressionBombWarning)
            with PillowImage.open(file, formats=_FORMATS) as picture:
                if picture.width * picture.height > MOST_POINTS:
                    text = f"is {picture.width} by {picture.height} points; make it smaller, {KEPT_POINTS} will do"
                    raise InputError.one(file, "", text)
                return _small(file, picture, kept_points)
    except FileNotFoundError:
        raise InputError.one(file, "", "there is no such picture; check its name and folder") from None
    except PillowImage.DecompressionBombError:
        raise InputError.one(file, "", f"is huge; make it smaller, {KEPT_POINTS} points across will do") from None
    except (OSError, SyntaxError, ValueError, EOFError, ArithmeticError) as error:
        text = f"cannot be read as a picture ({error}); save it again as PNG, JPEG or SVG"
        raise InputError.one(file, "", text.replace(f" '{file}'", "")) from None


def _small(file: FilePath, picture: PillowImage.Image, kept_points: int) -> Image:
    from PIL import Image as PillowImage
    from PIL import ImageOps

    upright = ImageOps.exif_transpose(picture)
    if upright.mode.startswith("I"):  # greys of 16 bits, which a conversion would cut off at 255
        greys, clear = np.asarray(upright), upright.info.get("transparency")
        alpha = np.where(greys == clear, np.uint8(0), np.uint8(255))
        upright = PillowImage.fromarray(np.stack([(greys // 257).astype(np.uint8), alpha], axis=-1), "LA")
    upright = upright.convert("RGBA")
    upright.thumbnail((kept_points, kept_points))
    white = PillowImage.new("RGBA", upright.size, "white")
    white.alpha_composite(upright)
    rgb = white.convert("RGB")
    return Image(file, rgb.width, rgb.height, rgb.tobytes())


def height_of(piece: Piece, art: Mapping[str, Art]) -> float:
    """Return the height of a piece's picture for each mm of width."""
    own = art.get(piece.code)
    if own is None:
        return height(piece.lips)
    return min(HEIGHT, own.height_px / own.width_px) if isinstance(own, Image) else HEIGHT


def mark_of(piece: Piece, art: Mapping[str, Art], x_mm: float, middle_mm: float, width_mm: float) -> Mark:
    """Return a piece's picture in a box of `width_mm` by `width_mm * HEIGHT`, by the box's left edge and middle."""
    own = art.get(piece.code)
    high_mm = width_mm * HEIGHT
    if not isinstance(own, Image):
        return Drawing(x_mm, middle_mm - high_mm / 2, width_mm, drawing(piece.lips) if own is None else own)
    scale = min(width_mm / own.width_px, high_mm / own.height_px)
    wide_mm, high_mm = own.width_px * scale, own.height_px * scale
    return Picture(x_mm + (width_mm - wide_mm) / 2, middle_mm - high_mm / 2, wide_mm, high_mm, own)


def mark_in_row(piece: Piece, art: Mapping[str, Art], box: tuple[float, float, float, float]) -> Mark:
    """Return a piece's picture in the middle of a row's box (left, top, width, height, in mm), as large as fits."""
    left_mm, top_mm, wide_mm, high_mm = box
    width_mm = min(wide_mm, _ROW_PART * high_mm / height_of(piece, art))
    return mark_of(piece, art, left_mm + (wide_mm - width_mm) / 2, top_mm + high_mm / 2, width_mm)
