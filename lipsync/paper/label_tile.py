"""One label: the code as large as possible, the piece's name, whose it is, its picture, and a square code (QR).

In: what a label says and the room it has. Out: its marks, and which parts had no room. No text is cut, and no letters
are smaller than 7 points. If a label is too small for everything, the least needed part is left out first
(`_WEIGHT`), and the person who prints is told. On a wide label picture, texts and square code are side by side, on a
narrow one below each other.

A field of the square code is at least a third of a millimetre wide, which printers and cameras of telephones resolve
(common practice); around the code is the white border of four fields that ISO/IEC 18004 requires.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from itertools import combinations

from lipsync.fit.mouthset import Piece
from lipsync.paper.lettering import HAIR_MM, composed, size_that_fits, wrapped
from lipsync.paper.marks import MM_PER_POINT, Code, Mark, Text
from lipsync.paper.mouth_drawing import HEIGHT
from lipsync.paper.page_forms import LEAST_PT
from lipsync.paper.pdf import fields_of_code, string_width_mm
from lipsync.paper.piece_pictures import Art, mark_of


@dataclass(frozen=True, slots=True)
class LabelMeasures:
    """The measures of a label, all chosen."""

    code_pt: float = 36.0
    text_pt: float = 12.0
    step_pt: float = 0.5
    # Sizes of letters that are large enough at arm's length, and what a broken line counts when ways are compared.
    good_code_pt: float = 22.0
    good_text_pt: float = 10.0
    broken: float = 0.25
    line: float = 1.2
    up: float = 0.25
    gap_mm: float = 2.0
    most_lines: int = 3
    field_mm: float = 1 / 3
    quiet_fields: int = 4
    square_part: float = 0.36
    most_square_mm: float = 26.0
    picture_part: float = 0.34
    most_picture_mm: float = 60.0
    least_picture_mm: float = 7.0
    # A label whose width is at least so many times its height has its parts side by side.
    wide: float = 1.5
    scales: tuple[float, ...] = (1.0, 0.9, 0.8, 0.7, 0.6)
    strips: tuple[float, ...] = (0.6, 0.5, 0.4)


LABEL = LabelMeasures()

# How much each part is needed: of the sets of parts that fit, the one with the largest sum is shown.
_WEIGHT = {"name": 16, "who": 8, "square": 7, "picture": 4, "where": 2}


@dataclass(frozen=True, slots=True)
class LabelSaid:
    """What a label says.

    Attributes:
        code: the piece's code.
        name: the piece's name.
        who: whose piece it is: the character, or its puppet, each on a line.
        where: the scene, if the label is for one.
        square: the text in its square code.
        piece: the piece whose picture it shows; None for no picture.
        art: the studio's own pictures.
    """

    code: str
    name: str
    who: str
    where: str = ""
    square: str = ""
    piece: Piece | None = None
    art: Mapping[str, Art] = field(default_factory=dict)

    @property
    def parts(self) -> frozenset[str]:
        """The parts that could be shown beside the code."""
        texts = {part for part in ("name", "who", "where") if getattr(self, part)}
        return frozenset(texts | ({"square"} if self.square else set()) | ({"picture"} if self.piece else set()))


@dataclass(frozen=True, slots=True)
class LabelBox:
    """A rectangle in mm from the page's top left corner."""

    x_mm: float
    y_mm: float
    width_mm: float
    height_mm: float


@dataclass(frozen=True, slots=True)
class LabelSizes:
    """The size of picture and square code, as a part of the largest allowed, and of the letters of code and texts."""

    scale: float = 1.0
    code_pt: float = LABEL.code_pt
    text_pt: float = LABEL.text_pt

    def least(self, other: LabelSizes) -> LabelSizes:
        """Return the smaller of each."""
        return LabelSizes(
            min(self.scale, other.scale), min(self.code_pt, other.code_pt), min(self.text_pt, other.text_pt)
        )


@dataclass(frozen=True, slots=True)
class LabelDrawn:
    """A label's marks, the parts that it has no room for, and its sizes."""

    marks: tuple[Mark, ...]
    left_out: frozenset[str]
    sizes: LabelSizes


def label_drawn(said: LabelSaid, box: LabelBox, most: LabelSizes | None = None) -> LabelDrawn | None:
    """Return a label with all parts that fit a box, no larger than `most`; None if not even its code fits."""
    most = most or LabelSizes()
    for parts in _choices(said.parts):
        for arrange in (_beside, _below) if box.width_mm >= LABEL.wide * box.height_mm else (_below, _beside):
            if (found := arrange(said, box, parts, most)) is not None:
                return LabelDrawn(tuple(found.marks), said.parts - parts, found.sizes)
    return None


def _choices(parts: frozenset[str]) -> list[frozenset[str]]:
    """Return the sets of parts that may be shown, the most needed set first."""
    every = [frozenset(some) for many in range(len(parts) + 1) for some in combinations(sorted(parts), many)]
    return sorted(every, key=lambda some: (-sum(_WEIGHT[part] for part in some), sorted(some)))


@dataclass(frozen=True, slots=True)
class _Found:
    """One way to set a label: its marks, its sizes, and how many more lines than texts it has."""

    marks: list[Mark]
    sizes: LabelSizes
    broken: int

    @property
    def worth(self) -> float:
        """How well it can be read: letters count only up to the size that is enough at arm's length (chosen)."""
        code, text = self.sizes.code_pt / LABEL.good_code_pt, self.sizes.text_pt / LABEL.good_text_pt
        return min(1.0, code) + min(1.0, text) + self.sizes.scale - LABEL.broken * self.broken


def _beside(said: LabelSaid, box: LabelBox, parts: frozenset[str], most: LabelSizes) -> _Found | None:
    """Return picture, texts and square code side by side; None if they have no room.

    Larger letters, larger parts and fewer broken lines compete for the room: the way that reads best is taken
    (`_Found.worth`).
    """
    tries = (
        _beside_at(said, box, parts, replace(most, scale=scale)) for scale in LABEL.scales if scale <= most.scale
    )
    return max((one for one in tries if one is not None), key=lambda one: one.worth, default=None)


def _beside_at(said: LabelSaid, box: LabelBox, parts: frozenset[str], most: LabelSizes) -> _Found | None:
    marks: list[Mark] = []
    left_mm, right_mm = box.x_mm, box.x_mm + box.width_mm
    if "picture" in parts:
        wide_mm = min(most.scale * LABEL.picture_part * box.width_mm, box.height_mm / HEIGHT, LABEL.most_picture_mm)
        if (picture := _picture(said, LabelBox(left_mm, box.y_mm, wide_mm, box.height_mm))) is None:
            return None
        marks.append(picture)
        left_mm += wide_mm + LABEL.gap_mm
    if "square" in parts:
        side_mm = min(box.height_mm, most.scale * LABEL.square_part * box.width_mm, LABEL.most_square_mm)
        right_mm -= side_mm
        square = _square(said, LabelBox(right_mm, box.y_mm + (box.height_mm - side_mm) / 2, side_mm, side_mm))
        if square is None:
            return None
        marks.append(square)
    texts = _texts(said, LabelBox(left_mm, box.y_mm, right_mm - left_mm, box.height_mm), parts, most)
    return None if texts is None else replace(texts, marks=marks + texts.marks)


def _below(said: LabelSaid, box: LabelBox, parts: frozenset[str], most: LabelSizes) -> _Found | None:
    """Return the texts, and below them picture and square code; None where they have no room."""
    if not parts & {"picture", "square"}:
        return None
    for strip in LABEL.strips:
        high_mm = strip * box.height_mm
        marks = list(_strip(said, replace(box, y_mm=box.y_mm + box.height_mm - high_mm, height_mm=high_mm), parts))
        over = replace(box, height_mm=box.height_mm - high_mm - LABEL.gap_mm)
        texts = _texts(said, over, parts, most)
        if texts is not None and None not in marks:
            return replace(texts, marks=[mark for mark in marks if mark is not None] + texts.marks)
    return None


def _strip(said: LabelSaid, box: LabelBox, parts: frozenset[str]) -> Iterator[Mark | None]:
    """Yield the picture on the left and the square code on the right; one alone stands in the middle."""
    wide_mm = box.width_mm
    if "square" in parts:
        side_mm = min(box.height_mm, box.width_mm / 2, LABEL.most_square_mm)
        free_mm = box.width_mm - side_mm
        at_mm = box.x_mm + (free_mm if "picture" in parts else free_mm / 2)
        yield _square(said, LabelBox(at_mm, box.y_mm + (box.height_mm - side_mm) / 2, side_mm, side_mm))
        wide_mm -= side_mm + LABEL.gap_mm
    if "picture" in parts:
        fits_mm = min(wide_mm, box.height_mm / HEIGHT, LABEL.most_picture_mm)
        yield _picture(said, replace(box, x_mm=box.x_mm + (wide_mm - fits_mm) / 2, width_mm=fits_mm))


def _picture(said: LabelSaid, box: LabelBox) -> Mark | None:
    if said.piece is None or box.width_mm < LABEL.least_picture_mm:
        return None
    return mark_of(said.piece, said.art, box.x_mm, box.y_mm + box.height_mm / 2, box.width_mm)


def _square(said: LabelSaid, box: LabelBox) -> Mark | None:
    """Return the square code with its white border inside a square; None where its fields would be too small."""
    fields = fields_of_code(said.square)
    field_mm = box.width_mm / (fields + 2 * LABEL.quiet_fields)
    if field_mm < LABEL.field_mm:
        return None
    quiet_mm = LABEL.quiet_fields * field_mm
    return Code(box.x_mm + quiet_mm, box.y_mm + quiet_mm, fields * field_mm, said.square)


def _texts(said: LabelSaid, box: LabelBox, parts: frozenset[str], most: LabelSizes) -> _Found | None:
    """Return the code and the texts below it, whole, in the middle of a box's height; None where they do not fit."""
    if box.width_mm <= 0 or box.height_mm <= 0:
        return None
    told = [text for part in ("name", "who", "where") if part in parts for text in getattr(said, part).split("\n")]
    found: list[_Found] = []
    size_pt = most.text_pt
    while size_pt >= LEAST_PT:
        if (lines := _lines(told, box.width_mm, size_pt)) is not None:
            room_mm = box.height_mm - len(lines) * LABEL.line * size_pt * MM_PER_POINT
            code_pt = _code_pt(said.code, box.width_mm, room_mm, most.code_pt)
            if code_pt >= max(LEAST_PT, size_pt if lines else 0.0):
                sizes = replace(most, code_pt=code_pt, text_pt=size_pt)
                found.append(_Found(list(_set(said.code, box, sizes, lines)), sizes, len(lines) - len(told)))
        size_pt -= LABEL.step_pt
    return max(found, key=lambda one: one.worth, default=None)


def _lines(texts: Sequence[str], width_mm: float, size_pt: float) -> list[str] | None:
    """Return texts in lines, none cut; None if one has no room, or would be broken within a word."""
    lines: list[str] = []
    for text in texts:
        own = wrapped(text, width_mm, size_pt, LABEL.most_lines)
        if " ".join(own) != composed(text) or any(string_width_mm(one, size_pt) > width_mm + HAIR_MM for one in own):
            return None
        lines += own
    return lines


def _code_pt(code: str, width_mm: float, room_mm: float, most_pt: float) -> float:
    """Return the size at which a code fits a room."""
    by_height = room_mm / (LABEL.line * MM_PER_POINT)
    largest = int(min(most_pt, by_height) / LABEL.step_pt) * LABEL.step_pt
    return size_that_fits(code, width_mm + HAIR_MM, largest, True) if largest > 0 else 0.0


def _set(code: str, box: LabelBox, sizes: LabelSizes, lines: Sequence[str]) -> Iterator[Mark]:
    """Yield a code and the lines below it."""
    code_mm, line_mm = (LABEL.line * size * MM_PER_POINT for size in (sizes.code_pt, sizes.text_pt))
    y_mm = box.y_mm + (box.height_mm - code_mm - len(lines) * line_mm) / 2
    yield Text(box.x_mm, y_mm + code_mm * (1 - LABEL.up), code, sizes.code_pt, bold=True)
    for place, line in enumerate(lines, start=1):
        yield Text(box.x_mm, y_mm + code_mm + line_mm * (place - LABEL.up), line, sizes.text_pt)
