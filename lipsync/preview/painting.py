"""A frame of the movie as points: each character's mouth, its words, its piece's code, and which frame it is.

In: frames of a reel. Out: pictures of `WIDTH_PX` by `HEIGHT_PX`. What was drawn once is kept: a mouth is drawn for
each piece, not for each frame.
"""

from __future__ import annotations

from collections.abc import Mapping
from functools import cached_property
from importlib.resources import files
from math import ceil, sqrt
from pathlib import Path

from PIL import Image as Pillow
from PIL import ImageDraw, ImageFont

from lipsync.paper.mouth_drawing import drawing
from lipsync.paper.piece_pictures import Art
from lipsync.preview.moving_mouth import mouth
from lipsync.preview.reel import Frame, Seen

WIDTH_PX, HEIGHT_PX = 1280, 720  # chosen: even numbers, as the codecs want, and large enough for two faces
_PAPER, _INK, _QUIET = "#fbfaf6", "#1e2321", "#5c5f59"
_TOUCH = "#0b6158"
_MARGIN = 40
_FEWEST_ABREAST = 3


class Painter:
    """Paints frames; `art` holds the studio's own pictures by mouth set's name and code."""

    def __init__(self, title: str, art: Mapping[tuple[str, str], Art]) -> None:
        """Paint frames of the production `title`."""
        self._title, self._art = title, art
        self._mouths: dict[tuple[str, str, int], Pillow.Image] = {}
        self._fonts: dict[tuple[int, bool], ImageFont.FreeTypeFont] = {}

    def paint(self, frame: Frame) -> Pillow.Image:
        """Return a frame as points."""
        picture = Pillow.new("RGB", (WIDTH_PX, HEIGHT_PX), _PAPER)
        draw = ImageDraw.Draw(picture)
        self._text(draw, (_MARGIN, 44), f"{self._title} · {frame.scene} · shot {frame.shot}", 24, _QUIET)
        self._text(draw, (_MARGIN, HEIGHT_PX - 40), f"frame {frame.number}", 44, _INK, bold=True)
        self._text(draw, (WIDTH_PX - _MARGIN, HEIGHT_PX - 40), frame.timecode, 32, _INK, anchor="rs")
        for index, seen in enumerate(frame.cast):
            self._paint_one(picture, draw, seen, self._cell(index, len(frame.cast)))
        return picture

    def _cell(self, index: int, count: int) -> tuple[int, int, int, int]:
        """Return left, top, width and height of a character's part of the picture."""
        across = min(count, max(_FEWEST_ABREAST, ceil(sqrt(2 * count))))
        down = -(-count // across)
        wide = (WIDTH_PX - 2 * _MARGIN) // across
        high = (HEIGHT_PX - 160) // down
        return _MARGIN + index % across * wide, 70 + index // across * high, wide, high

    def _paint_one(
        self, picture: Pillow.Image, draw: ImageDraw.ImageDraw, seen: Seen, cell: tuple[int, int, int, int]
    ) -> None:
        left, top, wide, high = cell
        middle = left + wide // 2
        small = high < 300
        name, word, code = (18, 22, 24) if small else (26, 40, 40)
        self._text(draw, (middle, top + 10 + name), seen.name, name, _QUIET, anchor="ms")
        across = max(8, min(wide - 40, round((high - name - 2 * word - code) / 0.75), 460))
        at = top + name + 20
        if seen.code is None:
            self._text(draw, (middle, at + round(across * 0.375)), "off camera", code, _QUIET, anchor="ms")
        else:
            drawn = self._mouth(seen, across)
            picture.paste(drawn, (middle - across // 2, at))
            at += drawn.height + code
            colour = _TOUCH if seen.put_on else _QUIET
            self._text(draw, (middle, at), seen.code, code, colour, bold=seen.put_on, anchor="ms")
        said = seen.word if seen.phoneme in ("", seen.word) else f"{seen.word}  {seen.phoneme}"
        self._text(draw, (middle, top + high - 14), said, word, _INK, anchor="ms")

    def _mouth(self, seen: Seen, across: int) -> Pillow.Image:
        assert seen.code is not None
        key = (seen.mouth_set.name, seen.code, across)
        if key not in self._mouths:
            piece = seen.mouth_set.by_code.get(seen.code)  # none where it was filmed and has left the set since
            art = self._art.get(key[:2]) or (drawing(piece.lips) if piece else ())
            self._mouths[key] = mouth(art, across, _PAPER)
        return self._mouths[key]

    def _text(
        self,
        draw: ImageDraw.ImageDraw,
        at: tuple[int, int],
        text: str,
        size: int,
        colour: str,
        *,
        bold: bool = False,
        anchor: str = "ls",
    ) -> None:
        draw.text(at, text, fill=colour, font=self._font(size, bold=bold), anchor=anchor)

    def _font(self, size: int, *, bold: bool) -> ImageFont.FreeTypeFont:
        if (size, bold) not in self._fonts:
            name = "DejaVuSansCondensed-Bold.ttf" if bold else "DejaVuSansCondensed.ttf"
            self._fonts[size, bold] = ImageFont.truetype(str(self._folder / name), size)
        return self._fonts[size, bold]

    @cached_property
    def _folder(self) -> Path:
        return Path(str(files("lipsync"))) / "paper" / "fonts"
