"""The count as pages: for each character how often each piece is seen and fitted, and how many are needed.

In: a `CountJob`. Out: a `Document`. The numbers are those of workshop/counting.py, under the same names; nothing
is counted here but the totals.
"""

from __future__ import annotations

import datetime
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from functools import partial

from lipsync.fit.mouthset import MouthSet
from lipsync.paper.flow import HEADS_MM, Flow, Heading, TableColumn, put_text
from lipsync.paper.lettering import check_letters, composed, sized, wrapped
from lipsync.paper.marks import Bookmark, Document, Mark, Rule, Text
from lipsync.paper.page_forms import MARGIN_X_MM
from lipsync.paper.pdf import string_width_mm
from lipsync.paper.piece_pictures import Art, mark_in_row
from lipsync.paper.sheet_settings import SheetSettings
from lipsync.paper.sheet_words import Words
from lipsync.paper.signs import row_rule
from lipsync.workshop.counting import CountRow


@dataclass(frozen=True, slots=True)
class CountMeasures:
    """The measures of the count's rows; parts are of the page's inner width. All are chosen."""

    row_mm: float = 9.4
    name_mm: float = 10.0
    after_mm: float = 5.0
    picture_mm: float = 10.5
    base_down_mm: float = 1.6
    name_pt: float = 14.0
    name_base_mm: float = 6.0
    name_part: float = 0.5
    facts_pt: float = 10.0
    facts_gap_mm: float = 5.0
    scenes_pt: float = 8.0
    scenes_part: float = 0.19
    scenes_line_mm: float = 3.6
    scenes_top_mm: float = 4.0
    most_scene_lines: int = 12
    total_mm: float = 0.35


COUNT = CountMeasures()

# The most lines of the band above a page (chosen).
_MOST_ALERTS = 12


def _columns(words: Words) -> dict[str, TableColumn]:
    """Return the columns, by what `CountRow` calls their numbers."""
    return {
        "code": TableColumn(words.code, at=0.075, width=0.125, number=False, size_pt=13, bold=True, whole=True),
        "name": TableColumn(words.name, at=0.21, width=0.19, number=False, size_pt=10, whole=True),
        "frames_seen": TableColumn(words.frames_seen, at=0.52, width=0.14),
        "times_fitted": TableColumn(words.times_fitted, at=0.64, width=0.14),
        "scenes": TableColumn(words.scenes, at=0.67, width=0.18, number=False, size_pt=8),
        "pieces_needed": TableColumn(words.pieces_needed, at=1.0, width=0.14, size_pt=13, bold=True),
    }


_NUMBERS = ("frames_seen", "times_fitted", "pieces_needed")


@dataclass(frozen=True, slots=True)
class CountCharacter:
    """One character: name, puppets, mouth set, rows in the order of the set, and what its parts are called."""

    name: str
    puppets: int
    mouth_set: MouthSet
    rows: tuple[CountRow, ...]
    art: Mapping[str, Art] = field(default_factory=dict)
    parts: Mapping[str, str] = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class CountJob:
    """A count and how it is printed. `how` says how it was counted, `alerts` what must be known before it is used."""

    production: str
    characters: tuple[CountCharacter, ...]
    dated: datetime.date | None = None
    settings: SheetSettings = field(default_factory=SheetSettings)
    alerts: tuple[str, ...] = ()
    scene: str = ""
    how: str = ""

    @property
    def about(self) -> str:
        """The film's title, and the scene's title if only one scene is counted."""
        return "  ·  ".join(text for text in (self.production, self.scene) if text)


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
    words = job.settings.words
    heading = Heading(words.count, job.about, job.dated, words, job.settings.page, job.alerts, _MOST_ALERTS)
    flow, places = Flow(heading), list[Bookmark]()
    columns = _columns(words)
    if job.how:
        put_text(flow, job.how)
        flow.space(1.0)
    for character in job.characters:
        # A page never breaks between a character's name and its first rows, or between its last row and its total.
        if not flow.has_room(COUNT.name_mm + HEADS_MM + 2 * COUNT.row_mm):
            flow.turn()
        places.append(Bookmark(composed(character.name), flow.page))
        flow.put(COUNT.name_mm, partial(_named, character, heading))
        rows = [(_height_mm(row, heading), partial(_row, character, columns, row, heading)) for row in character.rows]
        rows.append((COUNT.row_mm, partial(_total, character, columns, heading)))
        flow.put_rows(tuple(columns.values()), rows)
        flow.space(COUNT.after_mm)
    return Document(f"{job.production}: {words.count}", flow.pages(), tuple(places))


def _named(character: CountCharacter, heading: Heading, y_mm: float) -> Iterator[Mark]:
    name, size_pt = sized(character.name, heading.inner_mm * COUNT.name_part, COUNT.name_pt, True)
    yield Text(MARGIN_X_MM, y_mm + COUNT.name_base_mm, name, size_pt, bold=True)
    facts = f"{composed(character.mouth_set.name)}  ·  {heading.words.puppets.format(count=character.puppets)}"
    x_mm = MARGIN_X_MM + string_width_mm(name, size_pt, True) + COUNT.facts_gap_mm
    facts, size_pt = sized(facts, heading.width_mm - MARGIN_X_MM - x_mm, COUNT.facts_pt)
    yield Text(x_mm, y_mm + COUNT.name_base_mm, facts, size_pt)


def _scenes(row: CountRow, heading: Heading) -> tuple[str, ...]:
    room_mm = heading.inner_mm * COUNT.scenes_part
    return wrapped(", ".join(row.scenes), room_mm, COUNT.scenes_pt, COUNT.most_scene_lines)


def _height_mm(row: CountRow, heading: Heading) -> float:
    """Return the height of a row: more than usual where its scenes take more than two lines."""
    more = max(0, len(_scenes(row, heading)) - 2)
    return COUNT.row_mm + more * COUNT.scenes_line_mm


def _row(
    character: CountCharacter, columns: Mapping[str, TableColumn], row: CountRow, heading: Heading, y_mm: float
) -> Iterator[Mark]:
    base_mm = y_mm + COUNT.row_mm / 2 + COUNT.base_down_mm
    yield row_rule(heading.width_mm - MARGIN_X_MM, y_mm + _height_mm(row, heading))
    piece = character.mouth_set.by_code.get(row.code)
    if piece is not None:
        yield mark_in_row(piece, character.art, (MARGIN_X_MM, y_mm, COUNT.picture_mm, COUNT.row_mm))
    told = {"code": row.code, **{key: str(getattr(row, key)) for key in _NUMBERS}}
    name = piece.name if piece is not None else character.parts.get(row.code, "")
    told |= {"name": name} if name else {}
    for key, text in told.items():
        yield columns[key].mark(text, heading.inner_mm, base_mm)
    lines = _scenes(row, heading)
    x_mm = MARGIN_X_MM + heading.inner_mm * columns["scenes"].at
    for place, line in enumerate(lines):
        down_mm = base_mm if len(lines) == 1 else y_mm + COUNT.scenes_top_mm + place * COUNT.scenes_line_mm
        yield Text(x_mm, down_mm, line, COUNT.scenes_pt)


def _total(
    character: CountCharacter, columns: Mapping[str, TableColumn], heading: Heading, y_mm: float
) -> Iterator[Mark]:
    base_mm = y_mm + COUNT.row_mm / 2 + COUNT.base_down_mm
    yield Rule(MARGIN_X_MM, y_mm, heading.width_mm - MARGIN_X_MM, y_mm, COUNT.total_mm)
    letters = (columns["frames_seen"].size_pt, True)
    yield columns["code"].mark(heading.words.total, heading.inner_mm, base_mm, letters)
    for key in _NUMBERS:
        total = sum(getattr(row, key) for row in character.rows)
        yield columns[key].mark(str(total), heading.inner_mm, base_mm, letters)
