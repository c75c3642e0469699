"""Draws a frame of the movie: each character's mouth, its words, its piece's code, and the frame's number.

In: frames of a reel. Out: pictures of `WIDTH_PX` by `HEIGHT_PX`. While clay is modelled, the mouth is drawn between
one piece and the next, and a line of text says so; a studio's own picture is shown unchanged. Each mouth is drawn
once and kept, since the same mouths come on many frames.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cached_property
from importlib.resources import files
from pathlib import Path

from PIL import Image as Pillow
from PIL import ImageDraw, ImageFont

from lipsync.fit.mouthset import Lips
from lipsync.paper.lettering import ELLIPSIS
from lipsync.paper.mouth_drawing import HEIGHT, drawing
from lipsync.paper.piece_pictures import Art
from lipsync.paper.sheet_words import Words
from lipsync.preview.moving_mouth import mouth
from lipsync.preview.reel import Frame, Seen

WIDTH_PX, HEIGHT_PX = 1280, 720  # chosen: even numbers, as the codecs want, and large enough for two faces
_PAPER, _INK, _QUIET = "#fbfaf6", "#1e2321", "#5c5f59"
_TOUCH = "#0b6158"


@dataclass(frozen=True, slots=True)
class PictureMeasures:
    """Distances and sizes of letters in a picture, in pixels (chosen by eye)."""

    margin: int = 40
    top: int = 64
    bottom: int = 92
    title_base: int = 44
    title: int = 24
    number_up: int = 36
    number: int = 44
    timecode: int = 32
    most_mouth: int = 460
    least_mouth: int = 8
    beside_mouth: int = 20
    gap: int = 8
    below: int = 16
    least_letters: int = 11
    # Letters of a character's part, from its height: name, code, note, words.
    roomy: int = 400
    roomy_letters: tuple[int, int, int, int] = (28, 38, 24, 38)
    small_letters: tuple[int, int, int, int] = (20, 26, 18, 24)
    # Below that height letters are as small as they may be.
    crowded: int = 160
    crowded_letters: tuple[int, int, int, int] = (14, 16, 12, 15)


PICTURE = PictureMeasures()


@dataclass(frozen=True, slots=True)
class Place:
    """A character's part of the picture, in pixels from the picture's top left corner."""

    left: int
    top: int
    wide: int
    high: int

    @property
    def letters(self) -> tuple[int, int, int, int]:
        """Sizes of the letters of name, code, note and words, in pixels."""
        if self.high >= PICTURE.roomy:
            return PICTURE.roomy_letters
        return PICTURE.small_letters if self.high >= PICTURE.crowded else PICTURE.crowded_letters

    @property
    def mouth_px(self) -> int:
        """Width of the mouth in pixels: the largest that leaves room for the lines of text around it."""
        lines = sum(self.letters) + len(self.letters) * PICTURE.gap + PICTURE.below
        fits = min(self.wide - 2 * PICTURE.beside_mouth, round((self.high - lines) / HEIGHT), PICTURE.most_mouth)
        return max(PICTURE.least_mouth, fits)


def places_of(count: int) -> tuple[Place, ...]:
    """Return the places of so many characters, in as many rows as give the largest mouths, then the widest names.

    >>> [(place.left, place.top) for place in places_of(2)], len(places_of(6))
    ([(40, 64), (640, 64)], 6)
    """
    wide, high = WIDTH_PX - 2 * PICTURE.margin, HEIGHT_PX - PICTURE.top - PICTURE.bottom
    if not count:
        return ()
    sizes = {across: Place(0, 0, wide // across, high // -(-count // across)) for across in range(1, count + 1)}
    across = max(sizes, key=lambda across: (sizes[across].mouth_px, -across))
    one = sizes[across]
    return tuple(
        Place(PICTURE.margin + at % across * one.wide, PICTURE.top + at // across * one.high, one.wide, one.high)
        for at in range(count)
    )


class Painter:
    """Draws frames. `art` has the studio's own pictures: name of the mouth set, code -> picture."""

    def __init__(self, title: str, art: Mapping[tuple[str, str], Art], words: Words | None = None) -> None:
        """Prepare for frames of the production with this title, in the studio's words."""
        self._title, self._art, self._words = title, art, words or Words()
        self._mouths: dict[tuple[str, str, Lips | None, int], Pillow.Image] = {}
        self._fonts: dict[tuple[int, bool], ImageFont.FreeTypeFont] = {}

    def paint(self, frame: Frame) -> Pillow.Image:
        """Return a frame as a picture."""
        picture = Pillow.new("RGB", (WIDTH_PX, HEIGHT_PX), _PAPER)
        draw = ImageDraw.Draw(picture)
        middle, wide = WIDTH_PX // 2, WIDTH_PX - 2 * PICTURE.margin
        title = f"{self._title} · {frame.scene} · {self._words.shot.format(shot=frame.shot)}"
        self._text(draw, (middle, PICTURE.title_base), title, PICTURE.title, _QUIET, wide)
        base = HEIGHT_PX - PICTURE.number_up
        number = f"{self._words.frame} {frame.number}"
        self._text(draw, (middle, base), number, PICTURE.number, _INK, wide // 2, bold=True)
        timecode = self._font(PICTURE.timecode, bold=False)
        draw.text((WIDTH_PX - PICTURE.margin, base), frame.timecode, fill=_INK, font=timecode, anchor="rs")
        for seen, place in zip(frame.cast, places_of(len(frame.cast)), strict=True):
            self._paint_one(picture, draw, seen, place)
        return picture

    def _paint_one(self, picture: Pillow.Image, draw: ImageDraw.ImageDraw, seen: Seen, place: Place) -> None:
        """Draw a character: from above its name and mouth, from below its words, what is modelled, and the code."""
        middle, across = place.left + place.wide // 2, place.mouth_px
        name, code, note, word = place.letters
        room = place.wide - PICTURE.gap
        self._text(draw, (middle, place.top + name), seen.name, name, _QUIET, room)
        top = place.top + name + PICTURE.gap
        said = seen.word if seen.phoneme in ("", seen.word) else f"{seen.word}  {seen.phoneme}"
        base = place.top + place.high - PICTURE.below
        self._text(draw, (middle, base), said, word, _INK, room)
        base -= word + PICTURE.gap
        if seen.code is None:
            self._text(draw, (middle, top + across // 2), self._words.off_camera, code, _QUIET, room)
            return
        self._text(draw, (middle, base), self._noted(seen), note, _INK, room)
        base -= note + PICTURE.gap
        colour = _TOUCH if seen.put_on else _QUIET
        self._text(draw, (middle, base), seen.code, code, colour, room, bold=seen.put_on)
        drawn = self._mouth(seen, across)
        free = base - code - PICTURE.gap - top - drawn.height
        picture.paste(drawn, (middle - across // 2, top + max(0, free // 2)))

    def _noted(self, seen: Seen) -> str:
        """Return what is done by hand on this frame, in the sheet's words; nothing where nothing is."""
        if seen.modelled is not None:
            toward = self._words.toward.format(code=seen.modelled.code)
            return f"{toward}  {seen.modelled.step}/{seen.modelled.steps}"
        return self._words.keep_alive if seen.alive else ""

    def _mouth(self, seen: Seen, across: int) -> Pillow.Image:
        assert seen.code is not None
        piece = seen.mouth_set.by_code.get(seen.code)  # None if it was filmed, and is no longer in the set
        own = self._art.get((seen.mouth_set.name, seen.code))
        lips = None if own is not None or piece is None else on_the_way(piece.lips, seen)
        key = (seen.mouth_set.name, seen.code, lips, across)
        if key not in self._mouths:
            self._mouths[key] = mouth(own or (drawing(lips) if lips else ()), across, _PAPER)
        return self._mouths[key]

    def _text(
        self,
        draw: ImageDraw.ImageDraw,
        at: tuple[int, int],
        text: str,
        size: int,
        colour: str,
        room: int,
        *,
        bold: bool = False,
    ) -> None:
        """Draw a text centred over a point, in smaller letters if it is wider than `room`, then shortened."""
        while size > PICTURE.least_letters and self._font(size, bold=bold).getlength(text) > room:
            size -= 1
        font = self._font(size, bold=bold)
        if font.getlength(text) > room:
            while text and font.getlength(text + ELLIPSIS) > room:
                text = text[:-1]
            text += ELLIPSIS
        draw.text(at, text, fill=colour, font=font, anchor="ms")

    def _font(self, size: int, *, bold: bool) -> ImageFont.FreeTypeFont:
        if (size, bold) not in self._fonts:
            name = "DejaVuSansCondensed-Bold.ttf" if bold else "DejaVuSansCondensed.ttf"
            self._fonts[size, bold] = ImageFont.truetype(str(self._folder / name), size)
        return self._fonts[size, bold]

    @cached_property
    def _folder(self) -> Path:
        return Path(str(files("lipsync"))) / "paper" / "fonts"


def on_the_way(lips: Lips, seen: Seen) -> Lips:
    """Return what the lips do on a frame: those of the piece, or between them and the next piece's while modelled."""
    toward = None if seen.modelled is None else seen.mouth_set.by_code.get(seen.modelled.code)
    if seen.modelled is None or toward is None:
        return lips
    part = seen.modelled.step / (seen.modelled.steps + 1)
    now, then = lips.model_dump(), toward.lips.model_dump()
    return Lips(**{name: round(now[name] + part * (then[name] - now[name]), 4) for name in now})
