"""Where two ways differ: a strip for each character in each shot, and tiles of pieces that replace each other.

In: a `SideJob` and the page that is being filled. Out: blocks on that page; strips and tiles with no room are
counted.
"""

from __future__ import annotations

import datetime
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from functools import partial
from itertools import groupby

from lipsync.fit.mouthset import Piece
from lipsync.paper.flow import Flow, Heading, put_text
from lipsync.paper.lettering import shortened, sized
from lipsync.paper.marks import Box, Mark, Text
from lipsync.paper.page_forms import MARGIN_X_MM
from lipsync.paper.pdf import string_width_mm
from lipsync.paper.piece_pictures import Art, height_of, mark_of
from lipsync.paper.sheet_words import Words
from lipsync.workshop.side_by_side import SideBySide


@dataclass(frozen=True, slots=True)
class SideMeasures:
    """The measures of strips, and of tiles: a piece, what is worn instead, on how many frames. All are chosen."""

    title_mm: float = 8.0
    title_pt: float = 12.0
    title_base_mm: float = 5.4
    title_gap_mm: float = 5.0
    beside_pt: float = 9.0
    beside_part: float = 0.55
    # Where strips begin, as a part of the page's inner width: before them stand shot and character.
    strips_at: float = 0.27
    strips_gap_part: float = 0.02
    strip_mm: float = 9.0
    strip_high_mm: float = 4.2
    strip_down_mm: float = 0.4
    strip_pt: float = 10.0
    strip_base_mm: float = 3.8
    strip_line_mm: float = 0.2
    number_pt: float = 7.5
    number_base_mm: float = 7.6
    off_grey: float = 0.8
    strips_below_mm: float = 6.0
    tile_mm: float = 21.0
    tiles: int = 4
    below_mm: float = 5.0
    mouth_mm: float = 15.0
    mouth_high_mm: float = 9.6
    mouth_middle_mm: float = 5.6
    tile_gap_mm: float = 6.0
    code_pt: float = 10.0
    code_base_mm: float = 15.0
    arrow_pt: float = 12.0
    arrow_down_mm: float = 1.6
    frames_pt: float = 9.0
    frames_base_mm: float = 18.8


SIDE = SideMeasures()

# Room is kept for at least two lines of tiles.
_LEAST_TILES_MM = SIDE.title_mm + 2 * SIDE.tile_mm + SIDE.below_mm


@dataclass(frozen=True, slots=True)
class Strip:
    """A character in a shot: for each frame whether another mouth is worn; None where it is off camera."""

    shot: str
    character: str
    first: int
    differs: tuple[bool | None, ...]


@dataclass(frozen=True, slots=True)
class Instead:
    """A piece that a character wears instead of another, on how many frames, and the pictures of both sets."""

    character: str
    present: Piece
    tried: Piece
    frames: int
    art: Mapping[str, Art] = field(default_factory=dict)
    art_tried: Mapping[str, Art] = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class SideJob:
    """What is shown side by side, and how it is printed.

    Attributes:
        production: its title.
        scene: its title.
        tried: what is tried, in words.
        both: the two ways.
        names: each character's name.
        strips: where they differ.
        instead: what is worn instead of what, on most frames first.
        dated: the date of the state that is shown.
        page: the size of paper.
        words: as printed.
        alerts: what must be known before it is used.
    """

    production: str
    scene: str
    tried: tuple[str, ...]
    both: SideBySide
    names: Mapping[str, str]
    strips: tuple[Strip, ...]
    instead: tuple[Instead, ...]
    dated: datetime.date | None = None
    page: str = "A4"
    words: Words = field(default_factory=Words)
    alerts: tuple[str, ...] = ()


def put_strips(flow: Flow, job: SideJob) -> None:
    """Put the strips with most differences, in the order of the scene: as many as leave room for the tiles."""
    room = len(job.strips)
    kept_mm = _LEAST_TILES_MM if job.instead else 0.0
    while room and not flow.has_room(SIDE.title_mm + room * SIDE.strip_mm + SIDE.strips_below_mm + kept_mm):
        room -= 1
    if not room:
        _put_more(flow, job.words, len(job.strips))
        return
    most = sorted(job.strips, key=lambda strip: -sum(differs is True for differs in strip.differs))[:room]
    flow.put(SIDE.title_mm, partial(_headed, job.words.where_differing, job.words.strip_signs, flow.heading))
    longest = max(len(strip.differs) for strip in most)
    for strip in job.strips:
        if strip in most:
            flow.put(SIDE.strip_mm, partial(_strip, strip, job, flow.heading, longest))
    _put_more(flow, job.words, len(job.strips) - room)


def _headed(title: str, beside: str, heading: Heading, y_mm: float) -> Iterator[Mark]:
    """Return a title with a remark at the right."""
    base_mm = y_mm + SIDE.title_base_mm
    beside = shortened(beside, heading.inner_mm * SIDE.beside_part, SIDE.beside_pt)
    yield Text(heading.width_mm - MARGIN_X_MM, base_mm, beside, SIDE.beside_pt, align="right")
    room_mm = heading.inner_mm - string_width_mm(beside, SIDE.beside_pt) - SIDE.title_gap_mm
    title, size_pt = sized(title, room_mm, SIDE.title_pt, True)
    yield Text(MARGIN_X_MM, base_mm, title, size_pt, bold=True)


def _put_more(flow: Flow, words: Words, count: int) -> None:
    if count > 0:
        put_text(flow, words.and_more.format(count=count))


def _strip(strip: Strip, job: SideJob, heading: Heading, longest: int, y_mm: float) -> Iterator[Mark]:
    """Return a shot's frames from the left to the right, the longest shot over the whole width."""
    top_mm, high_mm, inner_mm = y_mm + SIDE.strip_down_mm, SIDE.strip_high_mm, heading.inner_mm
    left_mm, wide_mm = MARGIN_X_MM + inner_mm * SIDE.strips_at, inner_mm * (1 - SIDE.strips_at)
    label = f"{strip.shot}  ·  {job.names.get(strip.character, strip.character)}"
    label, size_pt = sized(label, inner_mm * (SIDE.strips_at - SIDE.strips_gap_part), SIDE.strip_pt)
    yield Text(MARGIN_X_MM, y_mm + SIDE.strip_base_mm, label, size_pt)
    at = 0
    for differs, group in groupby(strip.differs):
        many = len(list(group))
        if differs is not False:
            box_mm = (left_mm + wide_mm * at / longest, top_mm, wide_mm * many / longest, high_mm)
            yield Box(*box_mm, fill=0.0 if differs else SIDE.off_grey)
        at += many
    yield Box(left_mm, top_mm, wide_mm * at / longest, high_mm, stroke=0.0, line_mm=SIDE.strip_line_mm)
    last = strip.first + len(strip.differs) - 1
    base_mm = y_mm + SIDE.number_base_mm
    yield Text(left_mm, base_mm, str(strip.first), SIDE.number_pt)
    yield Text(left_mm + wide_mm * at / longest, base_mm, str(last), SIDE.number_pt, align="right")


def put_instead(flow: Flow, job: SideJob) -> None:
    """Put the tiles of pieces that replace each other, as many as the page has room for."""
    if not job.instead:
        return
    flow.put(SIDE.title_mm, partial(_headed, job.words.instead, "", flow.heading))
    put = 0
    while put < len(job.instead) and flow.has_room(SIDE.tile_mm + SIDE.below_mm):
        flow.put(SIDE.tile_mm, partial(_tiles, job.instead[put : put + SIDE.tiles], job, flow.heading))
        put += SIDE.tiles
    _put_more(flow, job.words, len(job.instead) - put)


def _tiles(tiles: Sequence[Instead], job: SideJob, heading: Heading, y_mm: float) -> Iterator[Mark]:
    """Return pieces with what is worn instead of each, beside each other."""
    wide_mm = heading.inner_mm / SIDE.tiles
    for at, tile in enumerate(tiles):
        x_mm = MARGIN_X_MM + at * wide_mm
        middle_mm, right_mm = y_mm + SIDE.mouth_middle_mm, x_mm + wide_mm - SIDE.tile_gap_mm
        for left_mm, piece, art in (
            (x_mm, tile.present, tile.art),
            (right_mm - SIDE.mouth_mm, tile.tried, tile.art_tried),
        ):
            mouth_mm = min(SIDE.mouth_mm, SIDE.mouth_high_mm / height_of(piece, art))
            yield mark_of(piece, art, left_mm + (SIDE.mouth_mm - mouth_mm) / 2, middle_mm, mouth_mm)
            base_mm = y_mm + SIDE.code_base_mm
            yield Text(left_mm + SIDE.mouth_mm / 2, base_mm, piece.code, SIDE.code_pt, bold=True, align="centre")
        yield Text((x_mm + right_mm) / 2, middle_mm + SIDE.arrow_down_mm, "→", SIDE.arrow_pt, align="centre")
        frames = job.words.one_frame if tile.frames == 1 else job.words.some_frames.format(count=tile.frames)
        who = job.names.get(tile.character, tile.character)
        text, size_pt = sized(f"{who}  ·  {frames}", wide_mm - SIDE.tile_gap_mm, SIDE.frames_pt)
        yield Text((x_mm + right_mm) / 2, y_mm + SIDE.frames_base_mm, text, size_pt, align="centre")
