"""What two ways differ in, drawn: a strip for each character in each shot, and pieces that take each other's place.

In come a `SideJob` and the page that is being filled; what finds no room on it is counted.
"""

from __future__ import annotations

import datetime
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from functools import partial
from itertools import groupby

from lipsync.fit.mouthset import Piece
from lipsync.paper.flow import Flow, Heading, put_text
from lipsync.paper.lettering import shortened
from lipsync.paper.marks import Box, Mark, Text
from lipsync.paper.page_forms import MARGIN_X_MM
from lipsync.paper.pdf import string_width_mm
from lipsync.paper.piece_pictures import Art, height_of, mark_of
from lipsync.paper.sheet_words import Words
from lipsync.workshop.side_by_side import SideBySide

_TITLE_MM, _STRIP_MM, _MOUTH_MM = 8.0, 9.0, 15.0

# A tile: present piece, what is worn instead, on how many frames. Four beside each other, two lines of them at least.
_TILE_MM, _TILES = 21.0, 4
_LEAST_TILES_MM = _TITLE_MM + 2 * _TILE_MM + 5.0

# Where strips begin, as a part of the page's inner width: before them stand shot and character.
_STRIPS_AT = 0.27


@dataclass(frozen=True, slots=True)
class Strip:
    """A character in a shot: for each frame whether another mouth is worn; None where it is off camera."""

    shot: str
    character: str
    first: int
    differs: tuple[bool | None, ...]


@dataclass(frozen=True, slots=True)
class Instead:
    """A piece that a character wears instead of another, on so many frames; each with its set's pictures."""

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
    """Put as many strips as leave room for the pieces, those with most differences, in the order of the scene."""
    room = len(job.strips)
    kept_mm = _LEAST_TILES_MM if job.instead else 0.0
    while room and not flow.has_room(_TITLE_MM + room * _STRIP_MM + 6.0 + kept_mm):
        room -= 1
    if not room:
        _put_more(flow, job.words, len(job.strips))
        return
    most = sorted(job.strips, key=lambda strip: -sum(differs is True for differs in strip.differs))[:room]
    flow.put(_TITLE_MM, partial(_headed, job.words.where_differing, job.words.strip_signs, flow.heading))
    longest = max(len(strip.differs) for strip in most)
    for strip in job.strips:
        if strip in most:
            flow.put(_STRIP_MM, partial(_strip, strip, job, flow.heading, longest))
    _put_more(flow, job.words, len(job.strips) - room)


def _headed(title: str, beside: str, heading: Heading, y_mm: float) -> Iterator[Mark]:
    """Return a title with a remark at the right."""
    beside = shortened(beside, heading.inner_mm * 0.55, 9)
    yield Text(heading.width_mm - MARGIN_X_MM, y_mm + 5.4, beside, 9, align="right")
    room_mm = heading.inner_mm - string_width_mm(beside, 9) - 5.0
    yield Text(MARGIN_X_MM, y_mm + 5.4, shortened(title, room_mm, 12, True), 12, bold=True)


def _put_more(flow: Flow, words: Words, count: int) -> None:
    if count > 0:
        put_text(flow, words.and_more.format(count=count))


def _strip(strip: Strip, job: SideJob, heading: Heading, longest: int, y_mm: float) -> Iterator[Mark]:
    """Return a shot's frames from the left to the right, the longest shot over the whole width."""
    high_mm, inner_mm = 4.2, heading.inner_mm
    left_mm, wide_mm = MARGIN_X_MM + inner_mm * _STRIPS_AT, inner_mm * (1 - _STRIPS_AT)
    label = f"{strip.shot}  ·  {job.names.get(strip.character, strip.character)}"
    yield Text(MARGIN_X_MM, y_mm + 3.8, shortened(label, inner_mm * (_STRIPS_AT - 0.02), 10), 10)
    at = 0
    for differs, group in groupby(strip.differs):
        many = len(list(group))
        if differs is not False:
            box_mm = (left_mm + wide_mm * at / longest, y_mm + 0.4, wide_mm * many / longest, high_mm)
            yield Box(*box_mm, fill=0.0 if differs else 0.8)
        at += many
    yield Box(left_mm, y_mm + 0.4, wide_mm * at / longest, high_mm, stroke=0.0, line_mm=0.2)
    last = strip.first + len(strip.differs) - 1
    yield Text(left_mm, y_mm + 7.6, str(strip.first), 7.5)
    yield Text(left_mm + wide_mm * at / longest, y_mm + 7.6, str(last), 7.5, align="right")


def put_instead(flow: Flow, job: SideJob) -> None:
    """Put which pieces take the place of which, as many as the page has room for."""
    if not job.instead:
        return
    flow.put(_TITLE_MM, partial(_headed, job.words.instead, "", flow.heading))
    put = 0
    more_mm = 5.0
    while put < len(job.instead) and flow.has_room(_TILE_MM + more_mm):
        flow.put(_TILE_MM, partial(_tiles, job.instead[put : put + _TILES], job, flow.heading))
        put += _TILES
    _put_more(flow, job.words, len(job.instead) - put)


def _tiles(tiles: Sequence[Instead], job: SideJob, heading: Heading, y_mm: float) -> Iterator[Mark]:
    """Return pieces with what is worn instead of each, beside each other."""
    wide_mm = heading.inner_mm / _TILES
    for at, tile in enumerate(tiles):
        x_mm = MARGIN_X_MM + at * wide_mm
        middle_mm, right_mm = y_mm + 5.6, x_mm + wide_mm - 6.0
        for left_mm, piece, art in (
            (x_mm, tile.present, tile.art),
            (right_mm - _MOUTH_MM, tile.tried, tile.art_tried),
        ):
            mouth_mm = min(_MOUTH_MM, 9.6 / height_of(piece, art))
            yield mark_of(piece, art, left_mm + (_MOUTH_MM - mouth_mm) / 2, middle_mm, mouth_mm)
            yield Text(left_mm + _MOUTH_MM / 2, y_mm + 15.0, piece.code, 10, bold=True, align="centre")
        yield Text((x_mm + right_mm) / 2, middle_mm + 1.6, "→", 12, align="centre")
        frames = job.words.one_frame if tile.frames == 1 else job.words.some_frames.format(count=tile.frames)
        who = job.names.get(tile.character, tile.character)
        text = f"{shortened(who, wide_mm - 6.0 - string_width_mm(frames, 9), 9)}  ·  {frames}"
        yield Text((x_mm + right_mm) / 2, y_mm + 18.8, text, 9, align="centre")
