"""Another mouth set or other settings beside the present ones, as one page to pin up and decide from.

In: a `SideJob` (side_by_side_parts.py). Out: a `Document` of one page: what is tried, the numbers of
workshop/side_by_side.py, a strip for each character in each shot that is black where another mouth is worn, and which
pieces take the place of which. Strips and pieces that find no room on the page are counted; the table beside it has
every frame.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from functools import partial

from lipsync.paper.flow import Flow, Heading, TableColumn, cells, put_text
from lipsync.paper.lettering import check_letters, sized
from lipsync.paper.marks import Document, Mark, Text
from lipsync.paper.page_forms import MARGIN_X_MM
from lipsync.paper.sheet_words import Words
from lipsync.paper.side_by_side_parts import SideJob, put_instead, put_strips
from lipsync.paper.signs import row_rule
from lipsync.workshop.side_by_side import Side, SideBySide

_ROW_MM, _ROW_BASE_MM = 5.8, 4.3
_TITLE_MM, _TITLE_BASE_MM, _TITLE_PT = 7.0, 5.0, 12.0
_SPACE_MM = 2.0


def side_by_side_page(job: SideJob) -> Document:
    """Return the two ways side by side; where they differ is shown in the room that the numbers leave on the page.

    Raises:
        InputError: if a text has letters that no font here has.
    """
    words = job.words
    texts = [("the film's title", job.production), ("the scene's title", job.scene)]
    texts += [("what is tried,", text) for text in job.tried] + [("the name", name) for name in job.names.values()]
    texts += [("what must be known,", text) for text in job.alerts]
    check_letters(words.side_by_side, texts, words)
    heading = Heading(words.side_by_side, f"{job.production}  ·  {job.scene}", job.dated, words, job.page, job.alerts)
    flow = Flow(heading)
    for text in job.tried:
        flow.put(_TITLE_MM, partial(_title, f"{words.as_tried}: {text}", heading))
    put_text(flow, words.side_how)
    columns = (
        TableColumn("", at=0.0, width=0.42, number=False, size_pt=11),
        TableColumn(words.as_it_is, at=0.58, width=0.15, number=True, size_pt=12, bold=True),
        TableColumn(words.as_tried, at=0.76, width=0.15, number=True, size_pt=12, bold=True),
        TableColumn(words.difference, at=0.98, width=0.2, number=True, size_pt=12),
    )
    rows = rows_of(job.both, job.names, words)
    flow.put_table(columns, _ROW_MM, [partial(_row, heading, columns, row) for row in rows])
    flow.space(_SPACE_MM)
    put_text(flow, words.side_unit)
    put_strips(flow, job)
    put_instead(flow, job)
    return Document(f"{job.scene}: {words.side_by_side}", flow.pages())


def _visual(words: Words, one: Side, other: Side) -> Iterator[tuple[str, str, str, str]]:
    if one.visual_tried is None or other.visual_tried is None:
        yield _costed(words.visual, one.visual, other.visual)
        return
    yield _costed(words.visual_present, one.visual, other.visual)
    yield _costed(words.visual_tried, one.visual_tried, other.visual_tried)


def rows_of(both: SideBySide, names: Mapping[str, str], words: Words) -> tuple[tuple[str, str, str, str], ...]:
    """Return the rows of numbers to decide from: label, present value, tried value, difference."""
    one, other = both.one, both.other
    rows = [
        _counted(words.fittings, one.fittings, other.fittings),
        *_visual(words, one, other),
        _costed(words.with_fittings, one.cost, other.cost),
        _counted(words.lost_sounds, one.lost, other.lost),
    ]
    for who, needed in one.pieces_needed.items():
        label = words.needed_for.format(character=names.get(who, who))
        rows.append(_counted(label, needed, other.pieces_needed.get(who, 0)))
    share = f"{both.frames_that_differ / both.frames:.0%}".replace("%", " %") if both.frames else ""
    rows.append((words.on_camera, str(both.frames), str(both.frames), ""))
    rows.append((words.differing, "", str(both.frames_that_differ), share))
    rows.append((words.mean_distance, "", f"{both.distance:.2f}", ""))
    return tuple(rows)


def _counted(label: str, present: int, tried: int) -> tuple[str, str, str, str]:
    return label, str(present), str(tried), _signed(tried - present, 0)


def _costed(label: str, present: float, tried: float) -> tuple[str, str, str, str]:
    """Return a row of costs; the difference is that of the rounded figures, so that the row adds up."""
    return label, f"{present:.1f}", f"{tried:.1f}", _signed(round(tried, 1) - round(present, 1), 1)


def _signed(value: float, decimals: int) -> str:
    """Return a difference with its sign: a typographic minus, and no sign for 0.

    >>> _signed(-12, 0), _signed(0.25, 1), _signed(-0.0, 1)
    ('−12', '+0.2', '0.0')
    """
    text = f"{abs(value):.{decimals}f}"
    return text if not float(text) else ("−" if value < 0 else "+") + text


def _title(text: str, heading: Heading, y_mm: float) -> Iterator[Mark]:
    text, size_pt = sized(text, heading.inner_mm, _TITLE_PT, True)
    yield Text(MARGIN_X_MM, y_mm + _TITLE_BASE_MM, text, size_pt, bold=True)


def _row(heading: Heading, columns: Sequence[TableColumn], row: Sequence[str], y_mm: float) -> Iterator[Mark]:
    right_mm = heading.width_mm - MARGIN_X_MM
    yield row_rule(right_mm, y_mm + _ROW_MM)
    yield from cells(columns, row, heading, y_mm + _ROW_BASE_MM)
