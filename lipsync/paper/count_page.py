"""The count as pages: for each character how often each piece is seen and fitted, and how many are needed.

In comes a `CountJob`, out a `Document`. The numbers are those of workshop/counting.py, under the same names; nothing
is counted here but the totals.
"""

from __future__ import annotations

import datetime
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field

from lipsync.fit.mouthset import MouthSet
from lipsync.paper.alerts import band, band_height_mm, fitted
from lipsync.paper.lettering import check_letters, composed, shortened, size_that_fits, wrapped
from lipsync.paper.marks import Bookmark, Document, Mark, Page, Rule, Text
from lipsync.paper.page_forms import MARGIN_X_MM, MARGIN_Y_MM, PAPER
from lipsync.paper.pdf import string_width_mm
from lipsync.paper.piece_pictures import Art, mark_in_row
from lipsync.paper.sheet_settings import SheetSettings
from lipsync.paper.sheet_words import Words
from lipsync.paper.signs import row_rule
from lipsync.workshop.counting import CountRow

_ROW_MM, _NAME_MM, _HEAD_MM, _TOP_MM = 9.4, 10.0, 7.0, 20.0
_PICTURE_MM = 10.5

# The most lines of the band (chosen).
_MOST_ALERTS = 12

# Columns of numbers and names: what they are called in `Words`, and the right (numbers) or left (names) edge as a
# part of the page's inner width.
_NUMBERS = {"frames_seen": 0.52, "times_fitted": 0.64, "pieces_needed": 1.0}
_NAMES = {"code": 0.075, "name": 0.21, "scenes": 0.67}
_SCENES_PART = 0.19


@dataclass(frozen=True, slots=True)
class CountCharacter:
    """One character: its name, its puppets, its mouth set, its rows in the order of the set."""

    name: str
    puppets: int
    mouth_set: MouthSet
    rows: tuple[CountRow, ...]
    art: Mapping[str, Art] = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class CountJob:
    """A count, how it is printed, and what must be known before it is used (`alerts`, in sentences)."""

    production: str
    characters: tuple[CountCharacter, ...]
    dated: datetime.date | None = None
    settings: SheetSettings = field(default_factory=SheetSettings)
    alerts: tuple[str, ...] = ()
    scene: str = ""

    @property
    def about(self) -> str:
        """The film's title, and the scene's if it alone is counted."""
        return "  ·  ".join(text for text in (self.production, self.scene) if text)

    @property
    def inner_mm(self) -> float:
        """Width between the margins."""
        return PAPER[self.settings.page][0] - 2 * MARGIN_X_MM

    @property
    def lines(self) -> tuple[str, ...]:
        """What the band of each page says: all that must be known before the numbers are used."""
        return fitted(self.alerts, self.inner_mm, _MOST_ALERTS, self.settings.words.more_told)


def _check_letters(job: CountJob) -> None:
    texts = [
        ("the film's title", job.production),
        ("the scene's title", job.scene),
        *(("the name", character.name) for character in job.characters),
    ]
    pieces = (character.mouth_set.by_code.get(row.code) for character in job.characters for row in character.rows)
    texts += [("the piece's name", piece.name) for piece in pieces if piece]
    texts += [("the mouth set's name", character.mouth_set.name) for character in job.characters]
    texts += [("what must be known,", text) for text in job.alerts]
    check_letters("count", texts, job.settings.words)


def count_page(job: CountJob) -> Document:
    """Return the count as pages.

    Raises:
        InputError: if a text has letters that no font here has.
    """
    _check_letters(job)
    width_mm, height_mm = PAPER[job.settings.page]
    words = job.settings.words
    bodies: list[list[Mark]] = [[]]
    places: list[Bookmark] = []
    top_mm = MARGIN_Y_MM + _TOP_MM + band_height_mm(len(job.lines))
    y_mm = top_mm
    bottom_mm = height_mm - MARGIN_Y_MM
    for character in job.characters:
        rows = list(character.rows)
        # A character's first rows stand with its name, its total with its last row.
        if bodies[-1] and y_mm + _NAME_MM + _HEAD_MM + 2 * _ROW_MM > bottom_mm:
            bodies.append([])
            y_mm = top_mm
        places.append(Bookmark(composed(character.name), len(bodies) - 1))
        bodies[-1] += _named(character, words, width_mm, y_mm)
        bodies[-1] += _heads(words, width_mm, y_mm + _NAME_MM)
        y_mm += _NAME_MM + _HEAD_MM
        for place, row in enumerate(rows):
            needed_mm = _ROW_MM * (2 if place == len(rows) - 1 else 1)
            if y_mm + needed_mm > bottom_mm:
                bodies.append(list(_heads(words, width_mm, top_mm)))
                y_mm = top_mm + _HEAD_MM
            bodies[-1] += _row(character, row, width_mm, y_mm)
            y_mm += _ROW_MM
        bodies[-1] += _total(character, words, width_mm, y_mm)
        y_mm += _ROW_MM + 5.0
    pages = tuple(
        Page(width_mm, height_mm, (*_heading(job, width_mm, number + 1, len(bodies)), *body))
        for number, body in enumerate(bodies)
    )
    return Document(f"{job.production}: {words.count}", pages, tuple(places))


def _heading(job: CountJob, width_mm: float, page: int, pages: int) -> Iterator[Mark]:
    words, right_mm = job.settings.words, width_mm - MARGIN_X_MM
    yield from band(job.lines, job.inner_mm, MARGIN_X_MM, MARGIN_Y_MM + 15.0)
    yield Text(MARGIN_X_MM, MARGIN_Y_MM + 6.6, shortened(words.count, 100, 20, True), 20, bold=True)
    text = words.page.format(page=page, pages=pages)
    yield Text(right_mm, MARGIN_Y_MM + 6.2, text, 13, bold=True, align="right")
    dated = "" if job.dated is None else words.dated.format(date=job.dated.isoformat())
    room_mm = right_mm - MARGIN_X_MM - string_width_mm(dated, 9) - 5.0
    yield Text(MARGIN_X_MM, MARGIN_Y_MM + 12.2, shortened(job.about, room_mm, 10.5), 10.5)
    if dated:
        yield Text(right_mm, MARGIN_Y_MM + 12.2, dated, 9, align="right")


def _named(character: CountCharacter, words: Words, width_mm: float, y_mm: float) -> Iterator[Mark]:
    inner_mm = width_mm - 2 * MARGIN_X_MM
    name = shortened(character.name, inner_mm * 0.5, 14, True)
    yield Text(MARGIN_X_MM, y_mm + 6.0, name, 14, bold=True)
    facts = f"{composed(character.mouth_set.name)}  ·  {words.puppets.format(count=character.puppets)}"
    x_mm = MARGIN_X_MM + string_width_mm(name, 14, True) + 5.0
    yield Text(x_mm, y_mm + 6.0, shortened(facts, width_mm - MARGIN_X_MM - x_mm, 10), 10)


def _heads(words: Words, width_mm: float, y_mm: float) -> Iterator[Mark]:
    inner_mm = width_mm - 2 * MARGIN_X_MM
    for key, part in _NAMES.items():
        label = shortened(getattr(words, key), inner_mm * 0.18, 8)
        yield Text(MARGIN_X_MM + inner_mm * part, y_mm + 4.8, label, 8)
    for key, part in _NUMBERS.items():
        label = shortened(getattr(words, key), inner_mm * 0.14, 8)
        yield Text(MARGIN_X_MM + inner_mm * part, y_mm + 4.8, label, 8, align="right")
    yield Rule(MARGIN_X_MM, y_mm + _HEAD_MM, width_mm - MARGIN_X_MM, y_mm + _HEAD_MM, 0.6)


def _row(character: CountCharacter, row: CountRow, width_mm: float, y_mm: float) -> Iterator[Mark]:
    inner_mm, base_mm = width_mm - 2 * MARGIN_X_MM, y_mm + _ROW_MM / 2 + 1.6
    right_mm = width_mm - MARGIN_X_MM
    yield row_rule(right_mm, y_mm + _ROW_MM)
    piece = character.mouth_set.by_code.get(row.code)
    if piece is not None:
        yield mark_in_row(piece, character.art, (MARGIN_X_MM, y_mm, _PICTURE_MM, _ROW_MM))
    size_pt = size_that_fits(row.code, inner_mm * 0.125, 13, True)
    yield Text(MARGIN_X_MM + inner_mm * _NAMES["code"], base_mm, row.code, size_pt, bold=True)
    if piece is not None:
        name = shortened(piece.name, inner_mm * 0.19, 10)
        yield Text(MARGIN_X_MM + inner_mm * _NAMES["name"], base_mm, name, 10)
    for key, part in _NUMBERS.items():
        needed = key == "pieces_needed"
        x_mm = MARGIN_X_MM + inner_mm * part
        yield Text(x_mm, base_mm, str(getattr(row, key)), 13 if needed else 11, bold=needed, align="right")
    lines = wrapped(", ".join(row.scenes), inner_mm * _SCENES_PART, 8, 2)
    for place, line in enumerate(lines):
        down_mm = base_mm if len(lines) == 1 else y_mm + 4.0 + place * 3.6
        yield Text(MARGIN_X_MM + inner_mm * _NAMES["scenes"], down_mm, line, 8)


def _total(character: CountCharacter, words: Words, width_mm: float, y_mm: float) -> Iterator[Mark]:
    inner_mm, base_mm = width_mm - 2 * MARGIN_X_MM, y_mm + _ROW_MM / 2 + 1.6
    yield Rule(MARGIN_X_MM, y_mm, width_mm - MARGIN_X_MM, y_mm, 0.35)
    label = shortened(words.total, inner_mm * 0.25, 11, True)
    yield Text(MARGIN_X_MM + inner_mm * _NAMES["code"], base_mm, label, 11, bold=True)
    for key, part in _NUMBERS.items():
        total = sum(getattr(row, key) for row in character.rows)
        yield Text(MARGIN_X_MM + inner_mm * part, base_mm, str(total), 11, bold=True, align="right")
