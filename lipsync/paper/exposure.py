"""The exposure sheet of a shot: a row for each frame, made to be worked from for days at arm's length.

In comes a `SheetJob`, out a `Document`. Each page is whole by itself: heading, heads of columns, rows with rules at
each second, and a foot that says what to ask before filming and which state the page shows. Where a foot has no room
for all there is to ask, a last page lists it.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from lipsync.paper.alerts import ALERT_PT, all_lines, band_lines
from lipsync.paper.block import SPAN_DB, Block
from lipsync.paper.columns import GAP_MM, Column, Layout, layout_of
from lipsync.paper.foot import Notice, Sign, foot, notices_of
from lipsync.paper.grid import NAME_PT, Bank, filmed, heads, lines, numbers
from lipsync.paper.heading import heading
from lipsync.paper.lettering import check_letters, shortened
from lipsync.paper.marks import Bookmark, Document, Mark, Page, Text
from lipsync.paper.measures import measured, stress_shown
from lipsync.paper.page_forms import MARGIN_X_MM, MARGIN_Y_MM
from lipsync.paper.rows import Row, rows_of, stamp_of
from lipsync.paper.sheet_job import SheetJob
from lipsync.paper.signs import row_rule

_LISTED_PT = 10.0
_LISTED_MM = 6.0


@dataclass(frozen=True, slots=True)
class _Sheet:
    """All that pages are made of."""

    job: SheetJob
    rows: tuple[Row, ...]
    layout: Layout
    stamp: str
    notices: tuple[Notice, ...]
    loudest_db: float


def sheet(job: SheetJob) -> Document:
    """Return the exposure sheet of a shot.

    Raises:
        InputError: if the page is too small for it, or a text has letters that no font here has.
    """
    _check_letters(job)
    rows = rows_of(job)
    levels = [level for character in job.characters for level in character.level_db if level is not None]
    made = _Sheet(
        job,
        rows,
        layout_of(job, measured(job, rows, NAME_PT)),
        stamp_of(job, rows),
        notices_of(job, rows),
        max([*levels, -40.0]),
    )
    return _document(made)


def _check_letters(job: SheetJob) -> None:
    """Report texts with letters that would print as empty boxes."""
    texts = [("the film's title", job.production), ("the scene's title", job.scene), ("the shot's id", job.shot)]
    texts += [("the name", character.name) for character in job.characters]
    said = sorted({sound.text for character in job.characters for sound in character.sounds})
    texts += [("the word", text) for text in said]
    texts += [("what must be known,", text) for text in job.alerts]
    check_letters(f"shot {job.shot}", texts, job.settings.words)


def _document(made: _Sheet) -> Document:
    job, form = made.job, made.layout.form
    each = form.rows * made.layout.banks
    starts = range(0, job.frames, each)
    feet = [_foot(made, start, min(job.frames, start + each)) for start in starts]
    listed = list(_listed(made)) if any(left_over for _, left_over in feet) or _left_over(made) else []
    total = len(starts) + len(listed)
    words, title = job.settings.words, job.settings.words.shot.format(shot=job.shot)
    pages, bookmarks = [], []
    for number, (start, (foot_marks, _)) in enumerate(zip(starts, feet, strict=True)):
        end = min(job.frames, start + each)
        frames = words.frames.format(first=made.rows[start].number, last=made.rows[end - 1].number)
        head = heading(job, form, words.page.format(page=number + 1, pages=total), frames)
        pages.append(Page(form.width_mm, form.height_mm, (*head, *_rows_page(made, start, end), *foot_marks)))
        bookmarks.append(Bookmark(frames, number))
    for number, body in enumerate(listed, start=len(starts)):
        head = heading(job, form, words.page.format(page=number + 1, pages=total), words.list_title)
        marks, _ = foot(job, made.layout, made.stamp)
        pages.append(Page(form.width_mm, form.height_mm, (*head, *body, *marks)))
        bookmarks.append(Bookmark(words.list_title, number))
    return Document(title, tuple(pages), tuple(bookmarks))


def _foot(made: _Sheet, start: int, end: int) -> tuple[list[Mark], int]:
    here = tuple(notice for notice in made.notices if start <= notice.row < end)
    return foot(made.job, made.layout, made.stamp, here, tuple(_signs(made, start, end)))


def _signs(made: _Sheet, start: int, end: int) -> Iterator[Sign]:
    """Return the signs that occur on a page, what needs saying first."""
    job, words = made.job, made.job.settings.words
    cells = [cell for row in made.rows[start:end] for cell in row.cells]
    for bank in _banks(made, start, end):
        for column in (column for column in made.layout.columns if column.character is not None):
            for frame, note in _block(made, bank, column).left_over:
                text = words.no_row_for.format(frame=made.rows[frame].number, note=note)
                yield Sign("toward", text, text)
    if job.changed and job.new_throughout:
        text = words.changed_all.format(letter=job.before)
        yield Sign("", text, text)
    elif not job.marked.isdisjoint(range(start, end)):
        text = words.changed.format(letter=job.before)
        yield Sign("changed", text, text)
    if not job.filmed.isdisjoint(range(start, end)):
        yield Sign("filmed", words.in_the_can, words.in_the_can_brief)
    if made.layout.left_out:
        text = words.left_out.format(columns=", ".join(getattr(words, name) for name in made.layout.left_out))
        yield Sign("", text, text)
    if any(cell.toward for cell in cells):
        yield Sign("toward", words.modelled, words.modelled_brief)
    if any(cell.beat for cell in cells):
        yield Sign("beat", words.beat, words.beat_brief)
    if any(cell.keep_alive for cell in cells):
        yield Sign("", words.alive, "")
    if made.layout.boxed and not job.filmed.issuperset(range(start, end)):
        yield Sign("box", words.tick, "")
    if any(stress_shown(phoneme)[1] for cell in cells for phoneme in cell.phonemes):
        yield Sign("", words.stressed, "")
    least_db = made.loudest_db - SPAN_DB
    levels = (level for one in job.characters for level in one.level_db[start:end] if level is not None)
    if any(level > least_db for level in levels):
        yield Sign("level", words.voice, "")


def _rows_page(made: _Sheet, start: int, end: int) -> Iterator[Mark]:
    job, layout = made.job, made.layout
    banks = _banks(made, start, end)
    for bank in banks:
        yield from filmed(job, layout, bank)
        blocks = [_block(made, bank, column) for column in layout.columns if column.character is not None]
        for block in blocks:
            yield from block.marks()
        yield from lines(job, layout, bank)
        yield from heads(job, layout, bank)
        texts = [block.texts() for block in blocks]
        for place, row in enumerate(made.rows[bank.first : bank.end]):
            yield from numbers(job, layout, bank, place, row)
            for block_texts in texts:
                yield from block_texts[place]
        for block in blocks:
            yield from block.struck()
    yield from _end(made, banks[-1])


def _banks(made: _Sheet, start: int, end: int) -> list[Bank]:
    """Return the banks of a page, from left to right."""
    form, wide_mm = made.layout.form, made.layout.bank_mm + GAP_MM
    return [
        Bank(first, min(end, first + form.rows), MARGIN_X_MM + n * wide_mm, form.top_mm)
        for n, first in enumerate(range(start, end, form.rows))
    ]


def _block(made: _Sheet, bank: Bank, column: Column) -> Block:
    return Block(
        character=made.job.characters[column.character or 0],
        column=column,
        layout=made.layout,
        words=made.job.settings.words,
        rows=made.rows,
        first=bank.first,
        end=bank.end,
        left_mm=bank.left_mm,
        top_mm=bank.top_mm,
        loudest_db=made.loudest_db,
    )


def _end(made: _Sheet, bank: Bank) -> Iterator[Text]:
    """Say that the shot ends, where the page goes on below its last row."""
    job, form = made.job, made.layout.form
    y_mm = bank.top_mm + (bank.end - bank.first) * form.pitch_mm + 5.0
    if bank.end == job.frames and bank.end - bank.first < form.rows - 1:
        text = job.settings.words.end.format(shot=job.shot, frames=job.frames)
        yield Text(bank.left_mm, y_mm, shortened(text, made.layout.bank_mm, 9), 9)


def _left_over(made: _Sheet) -> tuple[str, ...]:
    """Return what is to be known first, in full, where the band has no room for it all."""
    form, alerts = made.layout.form, made.job.alerts
    whole = all_lines(alerts, form.inner_mm)
    return () if band_lines(form, alerts, made.job.settings.words) == whole else whole


def _listed(made: _Sheet) -> Iterator[list[Mark]]:
    """Return pages that list everything to ask and to know, a line for each."""
    job, form = made.job, made.layout.form
    words = job.settings.words
    top_mm = MARGIN_Y_MM + form.heading_mm + form.band_mm + 4.0
    each = int((form.height_mm - MARGIN_Y_MM - form.foot_mm - top_mm) / _LISTED_MM)
    names_mm = min(50.0, form.inner_mm / 4)
    lines: list[str | Notice] = [*_left_over(made), *made.notices]
    for start in range(0, len(lines), each):
        marks: list[Mark] = []
        for place, notice in enumerate(lines[start : start + each]):
            y_mm = top_mm + (place + 0.75) * _LISTED_MM
            if isinstance(notice, str):
                marks.append(Text(MARGIN_X_MM, y_mm, notice, ALERT_PT, bold=True))
                continue
            number = str(made.rows[notice.row].number)
            what = words.doubtful if notice.kind == "doubt" else words.not_seen
            name = shortened(notice.character, names_mm - 3.0, _LISTED_PT)
            text_mm = MARGIN_X_MM + 22.0 + names_mm
            text = shortened(f"{what}: {notice.full}", form.width_mm - MARGIN_X_MM - text_mm, _LISTED_PT)
            marks.append(Text(MARGIN_X_MM + 18.0, y_mm, number, 13, bold=True, align="right"))
            marks.append(Text(MARGIN_X_MM + 22.0, y_mm, name, _LISTED_PT, bold=False))
            marks.append(Text(text_mm, y_mm, text, _LISTED_PT))
            marks.append(row_rule(form.width_mm - MARGIN_X_MM, y_mm + 1.6))
        yield marks
