"""Another mouth set or other settings beside the present ones, as one page to pin up and decide from.

In comes a `SideJob`, out a `Document` of one page: what is tried, the numbers of fit/side_by_side.py, a strip for
each character in each shot that is black where another piece is worn, and which pieces take the place of which.
Strips and pieces that find no room on the page are counted; the table beside it has every frame.
"""

from __future__ import annotations

import datetime
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from functools import partial
from itertools import groupby

from lipsync.fit.mouthset import Piece
from lipsync.fit.side_by_side import SideBySide
from lipsync.sheets.flow import Column, Flow, Heading, cells, check_letters, put_text
from lipsync.sheets.lettering import shortened
from lipsync.sheets.marks import Box, Document, Mark, Rule, Text
from lipsync.sheets.paper import MARGIN_X_MM
from lipsync.sheets.pdf import string_width_mm
from lipsync.sheets.pictures import Art, height_of, mark_of
from lipsync.sheets.words import Words

_ROW_MM, _TITLE_MM, _STRIP_MM, _MOUTH_MM = 5.8, 8.0, 9.0, 15.0

# A tile: present piece, what is worn instead, on how many frames. Four beside each other, two lines of them at least.
_TILE_MM, _TILES = 21.0, 4
_LEAST_TILES_MM = _TITLE_MM + 2 * _TILE_MM + 5.0

# Where strips begin, as a part of the page's inner width: before them stand shot and character.
_STRIPS_AT = 0.27


@dataclass(frozen=True, slots=True)
class Strip:
    """A character in a shot: for each frame whether another piece is worn; None where it is off camera."""

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


def side_by_side_page(job: SideJob) -> Document:
    """Return the two ways side by side, on one page.

    Raises:
        InputError: if a text has letters that no font here has.
    """
    words = job.words
    check_letters(words.side_by_side, [job.production, job.scene, *job.tried, *job.names.values()])
    heading = Heading(words.side_by_side, f"{job.production}  ·  {job.scene}", job.dated, words, job.page)
    flow = Flow(heading)
    for text in job.tried:
        flow.put(_TITLE_MM - 1.0, partial(_title, f"{words.as_tried}: {text}", heading))
    put_text(flow, words.side_how)
    columns = (
        Column("", 0.0, 0.42, False, 11),
        Column(words.as_it_is, 0.58, 0.15, True, 12, True),
        Column(words.as_tried, 0.76, 0.15, True, 12, True),
        Column(words.difference, 0.98, 0.2, True, 12),
    )
    flow.put_table(columns, _ROW_MM, [partial(_row, heading, columns, row) for row in rows_of(job)])
    flow.space(2.0)
    put_text(flow, words.side_unit)
    _put_strips(flow, job)
    _put_instead(flow, job)
    return Document(f"{job.scene}: {words.side_by_side}", flow.pages())


def rows_of(job: SideJob) -> tuple[tuple[str, str, str, str], ...]:
    """Return what is to be decided from: what it is, present, tried, and by how much it differs."""
    words, both = job.words, job.both
    one, other = both.one, both.other
    rows = [
        _counted(words.fittings, one.fittings, other.fittings),
        _costed(words.visual, one.visual, other.visual),
        _costed(words.total_cost, one.cost, other.cost),
        _counted(words.lost_sounds, one.lost, other.lost),
    ]
    for who, needed in one.pieces_needed.items():
        label = words.needed_for.format(character=job.names.get(who, who))
        rows.append(_counted(label, needed, other.pieces_needed.get(who, 0)))
    share = f"{100 * both.frames_that_differ / both.frames:.0f} %" if both.frames else ""
    rows.append((words.on_camera, str(both.frames), str(both.frames), ""))
    rows.append((words.differing, "", str(both.frames_that_differ), share))
    rows.append((words.mean_distance, "", f"{both.distance:.2f}", ""))
    return tuple(rows)


def _counted(label: str, present: int, tried: int) -> tuple[str, str, str, str]:
    return label, str(present), str(tried), _signed(tried - present, 0)


def _costed(label: str, present: float, tried: float) -> tuple[str, str, str, str]:
    """Return a row whose difference is that of the figures that are shown."""
    return label, f"{present:.1f}", f"{tried:.1f}", _signed(round(tried, 1) - round(present, 1), 1)


def _signed(value: float, decimals: int) -> str:
    """Return a difference with its sign; a true minus, and nothing before 0.

    >>> _signed(-12, 0), _signed(0.25, 1), _signed(-0.0, 1)
    ('−12', '+0.2', '0.0')
    """
    text = f"{abs(value):.{decimals}f}"
    return text if not float(text) else ("−" if value < 0 else "+") + text


def _title(text: str, heading: Heading, y_mm: float) -> Iterator[Mark]:
    yield Text(MARGIN_X_MM, y_mm + 5.0, shortened(text, heading.inner_mm, 12, True), 12, bold=True)


def _row(heading: Heading, columns: Sequence[Column], row: Sequence[str], y_mm: float) -> Iterator[Mark]:
    right_mm = heading.width_mm - MARGIN_X_MM
    yield Rule(MARGIN_X_MM, y_mm + _ROW_MM, right_mm, y_mm + _ROW_MM, 0.1, grey=0.72)
    yield from cells(columns, row, heading, y_mm + 4.3)


def _put_strips(flow: Flow, job: SideJob) -> None:
    """Put as many strips as leave room for the pieces, those with most differences, in the order of the scene."""
    room = len(job.strips)
    kept_mm = _LEAST_TILES_MM if job.instead else 0.0
    while room and not flow.has_room(_TITLE_MM + room * _STRIP_MM + 6.0 + kept_mm):
        room -= 1
    if not room:
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


def _put_instead(flow: Flow, job: SideJob) -> None:
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
