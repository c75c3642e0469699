"""The exposure sheet of a shot: a row for each frame, made to be worked from for days at arm's length.

In: a `SheetJob`. Out: a `Document`. Each page is complete by itself: heading, heads of columns, rows with rules at
each second, and a foot that says what to ask before filming and which state the page shows. If a foot has no room for
all that there is to ask, a last page lists it (last_page.py). A shot that has no room on any page gets sheets that
lie side by side (choosing.py); in the document they follow each other for each stretch of frames.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace
from functools import cached_property
from math import ceil

from lipsync.paper.block import Block
from lipsync.paper.choosing import Chosen, SheetPart, choose
from lipsync.paper.columns import Column, Kind, Layout, laid_again, ranges_of
from lipsync.paper.foot import Notice, Sign, foot, notices_of
from lipsync.paper.grid import Bank, filmed, heads, lines, numbers
from lipsync.paper.heading import heading
from lipsync.paper.last_page import left_over_alerts, listed
from lipsync.paper.lettering import check_letters, first_that_fits
from lipsync.paper.marks import Bookmark, Document, Mark, Page, Text
from lipsync.paper.measures import picture_part, stress_shown
from lipsync.paper.notes import alive_spans, spans_of, spelt_out
from lipsync.paper.page_breaks import PageRange
from lipsync.paper.page_forms import MARGIN_X_MM
from lipsync.paper.parts_on_sheet import parts_on
from lipsync.paper.rows import Row, Stamped, stamped
from lipsync.paper.sheet_job import SheetJob
from lipsync.paper.sheet_measures import GRID, LANES, SOUND
from lipsync.paper.sheet_words import Words


@dataclass(frozen=True, slots=True)
class _Sheet:
    """Everything that the pages of a shot are made from; `job` and `rows` are those of the whole shot."""

    job: SheetJob
    rows: tuple[Row, ...]
    chosen: Chosen
    ranges: tuple[PageRange, ...]
    stamp: str
    loudest_db: float


@dataclass(frozen=True)
class _SheetPage:
    """One side of paper: a stretch of frames of one part of a sheet."""

    job: SheetJob
    rows: tuple[Row, ...]
    layout: Layout
    frames: PageRange
    loudest_db: float

    @cached_property
    def banks(self) -> list[Bank]:
        """Return the banks of the page, from left to right."""
        form, wide_mm = self.layout.form, self.layout.bank_mm + GRID.bank_gap_mm
        return [
            Bank(first, min(self.frames.end, first + form.rows), MARGIN_X_MM + n * wide_mm, form.top_mm)
            for n, first in enumerate(range(self.frames.first, self.frames.end, form.rows))
        ]

    @cached_property
    def blocks(self) -> list[list[Block]]:
        """Return the characters' columns on each bank."""
        columns = [column for column in self.layout.columns if column.character is not None]
        return [[self._block(bank, column) for column in columns] for bank in self.banks]

    def _block(self, bank: Bank, column: Column) -> Block:
        return Block(
            character=self.job.characters[column.character or 0],
            column=column,
            layout=self.layout,
            words=self.job.settings.words,
            rows=self.rows,
            first=bank.first,
            end=bank.end,
            left_mm=bank.left_mm,
            top_mm=bank.top_mm,
            loudest_db=self.loudest_db,
        )


def sheet(job: SheetJob, known: Stamped | None = None) -> Document:
    """Return the exposure sheet of a shot.

    Args:
        job: the shot.
        known: its rows and their stamp; found if None.

    Raises:
        InputError: if a text has letters that no font here has, or no page is wide enough for one character.
    """
    return _document(_made(job, known), differing=False)


def changed_pages(job: SheetJob, known: Stamped | None = None) -> Document | None:
    """Return only the pages of a shot's sheet that differ from the print before; None if no page does.

    They are numbered as in the whole sheet, so that they can take the places of the old pages. A shot that was never
    printed before differs on every page. Arguments are those of `sheet`.

    Raises:
        InputError: as `sheet` does.
    """
    made = _document(_made(job, known), differing=True)
    return made if made.pages else None


def _made(job: SheetJob, known: Stamped | None) -> _Sheet:
    _check_letters(job)
    known = known or stamped(job)
    levels = [level for character in job.characters for level in character.level_db if level is not None]
    chosen = choose(job, known.rows)
    ranges = ranges_of(job, chosen.parts[0].layout, job.frames)
    return _Sheet(job, known.rows, chosen, ranges, known.stamp, max([*levels, SOUND.quietest_db]))


def _check_letters(job: SheetJob) -> None:
    """Report texts with letters that would print as empty boxes."""
    texts = [("the film's title", job.production), ("the scene's title", job.scene), ("the shot's id", job.shot)]
    texts += [("the name", character.name) for character in job.characters]
    said = sorted({sound.text for character in job.characters for sound in character.sounds})
    texts += [("the word", text) for text in said]
    texts += [("what must be known,", text) for text in job.alerts]
    check_letters(f"shot {job.shot}", texts, job.settings.words)


def _document(made: _Sheet, *, differing: bool) -> Document:
    """Return the sheet; with `differing`, only the pages that differ from the print before."""
    job, words = made.job, made.job.settings.words
    notices = notices_of(job, made.rows)
    sides = [[_side(made, part, frames) for part in made.chosen.parts] for frames in made.ranges]
    notices = tuple(sorted((*notices, *_notes_left_over(sides)), key=lambda notice: notice.row))
    feet = [[_foot(made, side, notices) for side in beside] for beside in sides]
    alerts = left_over_alerts(made.chosen.parts[0].layout.form, job)
    full = alerts or any(missed for beside in feet for _, missed in beside)
    last = listed(job, made.chosen.parts[0].layout.form, made.rows, alerts, notices) if full else []
    total = len(sides) + len(last)
    pages: list[Page] = []
    bookmarks: list[Bookmark] = []
    differ = _differing(made)
    for number, (beside, marks) in enumerate(zip(sides, feet, strict=True)):
        if differing and differ[number] is False:
            continue
        frames = made.ranges[number]
        told = words.frames.format(first=made.rows[frames.first].number, last=made.rows[frames.end - 1].number)
        bookmarks.append(Bookmark(told, len(pages)))
        for part, (side, (foot_marks, _)) in enumerate(zip(beside, marks, strict=True), start=1):
            page = words.page.format(page=number + 1, pages=total), f"{number + 1}/{total}"
            if len(beside) > 1:
                beside_said = words.part.format(page=page[0], part=part, parts=len(beside))
                page = beside_said, f"{page[1]} · {part}/{len(beside)}"
            form = side.layout.form
            head = heading(side.job, form, page, told, differ[number])
            pages.append(Page(form.width_mm, form.height_mm, (*head, *_rows_page(side), *foot_marks)))
    layout = made.chosen.parts[0].layout
    for number, body in enumerate(last if pages else [], start=len(sides) + 1):
        page = words.page.format(page=number, pages=total), f"{number}/{total}"
        head = heading(job, layout.form, page, words.list_title)
        marks_below, _ = foot(job, layout, made.stamp)
        bookmarks.append(Bookmark(words.list_title, len(pages)))
        pages.append(Page(layout.form.width_mm, layout.form.height_mm, (*head, *body, *marks_below)))
    return Document(words.shot.format(shot=job.shot), tuple(pages), tuple(bookmarks))


def _differing(made: _Sheet) -> list[bool | None]:
    """Return for each stretch of frames whether its page differs from the print before; None if there was no print.

    A page is the same if it had the same frames, and its rows, its heading and its foot say the same.
    """
    job = made.job
    if not job.before:
        return [None] * len(made.ranges)
    before = set(ranges_of(job, made.chosen.parts[0].layout, job.rows_before)) if job.rows_before else set()
    return [
        job.heading_changed or one not in before or not job.changed.isdisjoint(range(one.first, one.end))
        for one in made.ranges
    ]


def _side(made: _Sheet, part: SheetPart, frames: PageRange) -> _SheetPage:
    layout = laid_again(part.job, part.texts, part.layout, frames.rows)
    side = _SheetPage(part.job, part.rows, layout, frames, made.loudest_db)
    # One scale for all parts: the same piece has the same size on each of them.
    starts = [bank.first for bank in side.banks] if layout.banks > 1 else [one.first for one in made.ranges]
    fits_mm = LANES.picture_row_part * layout.form.pitch_mm * picture_part(made.job, starts)
    lanes_mm = [
        dict(column.lanes)["picture"].width_mm - LANES.pad_mm
        for one in made.chosen.parts
        for column in (layout if one is part else one.layout).columns
        if column.character is not None
    ]
    return replace(side, layout=replace(layout, picture_mm=min([fits_mm, *lanes_mm])))


def _notes_left_over(sides: list[list[_SheetPage]]) -> Iterator[Notice]:
    """Yield the notes that no row was free for, and the words that no column is wide enough for."""
    for side in (side for beside in sides for side in beside):
        words = side.job.settings.words
        for block in (block for blocks in side.blocks for block in blocks):
            for frame, note in block.left_over:
                text = words.no_row_for.format(frame=side.rows[frame].number, note=note)
                yield Notice(frame, "note", block.character.name, text, text)
            for frame, word in block.shortened:
                text = words.doubt_at.format(word=word, frame=side.rows[frame].number)
                yield Notice(frame, "word", block.character.name, text, text)
        yield from _parts_left_over(side)


def _parts_left_over(side: _SheetPage) -> Iterator[Notice]:
    """Yield the parts that no column has room for."""
    job = side.job
    for bank in side.banks:
        for one in parts_on(job, side.rows, side.layout, bank).left_over:
            first, last = (side.rows[frame].number for frame in (one.part.first, one.part.last))
            name = job.characters[one.character].name
            text = job.settings.words.part_at.format(code=one.part.code, name=name, first=first, last=last)
            yield Notice(max(one.part.first, bank.first), "part", name, text, text)


def _foot(made: _Sheet, side: _SheetPage, notices: tuple[Notice, ...]) -> tuple[list[Mark], int]:
    names = {character.name for character in side.job.characters}
    frames = range(side.frames.first, side.frames.end)
    here = tuple(notice for notice in notices if notice.row in frames and notice.character in names)
    return foot(side.job, side.layout, made.stamp, here, tuple(_signs(made, side)))


def _signs(made: _Sheet, side: _SheetPage) -> Iterator[Sign]:
    """Yield the signs that occur on a page, the most necessary first."""
    job, words, frames = side.job, side.job.settings.words, range(side.frames.first, side.frames.end)
    cells = [cell for row in side.rows[frames.start : frames.stop] for cell in row.cells]
    columns = list(zip(*(row.cells for row in side.rows), strict=True))
    # What began on a page before goes on here.
    is_modelled = any(
        span.first < frames.stop and span.end > frames.start for own in columns for span in spans_of(own)
    )
    is_alive = any(first < frames.stop and end > frames.start for own in columns for first, end in alive_spans(own))
    asked = Kind(job.settings.page, job.settings.orientation, job.settings.form)
    if asked != made.chosen.kind:
        kinds = _kinds_said(asked, made.chosen.kind, words)
        text = words.other_page.format(asked=kinds[0], page=kinds[1])
        yield Sign("", text + _why(made.chosen, words), text)
    if job.changed and job.new_throughout:
        text = words.changed_all.format(letter=job.before)
        yield Sign("", text, text)
    elif not job.marked.isdisjoint(frames):
        text = words.changed.format(letter=job.before)
        yield Sign("changed", text, text)
    if is_modelled and any(column.brief for column in side.layout.columns):
        text = spelt_out(words)
        yield Sign("", text, text)
    if not job.filmed.isdisjoint(frames):
        yield Sign("filmed", words.in_the_can, words.in_the_can_brief)
    if side.layout.left_out:
        text = words.left_out.format(columns=", ".join(getattr(words, name) for name in side.layout.left_out))
        yield Sign("", text, text)
    if is_modelled:
        yield Sign("toward", words.modelled, words.modelled_brief)
    if is_alive:
        yield Sign("alive", words.alive, words.alive_brief)
    if any(cell.beat for cell in cells):
        yield Sign("beat", words.beat, words.beat_brief)
    yield from _other_signs(made, side)


def _other_signs(made: _Sheet, side: _SheetPage) -> Iterator[Sign]:
    """Yield the signs whose explanation may be left out if there is no room."""
    job, words, frames = side.job, side.job.settings.words, range(side.frames.first, side.frames.end)
    cells = [cell for row in side.rows[frames.start : frames.stop] for cell in row.cells]
    if side.layout.boxed and not job.filmed.issuperset(frames):
        yield Sign("box", words.tick, "")
    if any(cell.piece is not None and not cell.fitted for cell in cells):
        yield Sign("", words.on_already, "")
    if any(stress_shown(phoneme)[1] for cell in cells for phoneme in cell.phonemes):
        yield Sign("", words.stressed, "")
    least_db = made.loudest_db - SOUND.span_db
    levels = (
        level for one in job.characters for level in one.level_db[frames.start : frames.stop] if level is not None
    )
    if any(level > least_db for level in levels):
        yield Sign("level", words.voice, "")


def _why(chosen: Chosen, words: Words) -> str:
    """Return why the page asked for is too small; empty unless its width is the reason."""
    if chosen.too_wide_mm is None:
        return ""
    needed_mm, has_mm = chosen.too_wide_mm
    return f" ({words.columns_need.format(needed=ceil(needed_mm), has=int(has_mm))})"


def _kinds_said(asked: Kind, chosen: Kind, words: Words) -> list[str]:
    """Return two kinds of page in words; with their forms only if these differ."""
    said = words.page_lies if asked.form == chosen.form else words.page_form
    return [
        said.format_map({"page": kind.page, "orientation": getattr(words, kind.orientation), "form": kind.form})
        for kind in (asked, chosen)
    ]


def _rows_page(side: _SheetPage) -> Iterator[Mark]:
    job, layout = side.job, side.layout
    banks = side.banks
    for bank, blocks in zip(banks, side.blocks, strict=True):
        yield from filmed(job, layout, bank)
        for block in blocks:
            yield from block.marks()
        parts = parts_on(job, side.rows, layout, bank)
        yield from lines(job, layout, bank)
        yield from parts.marks
        yield from heads(job, layout, bank)
        texts = [block.texts() for block in blocks]
        for place, row in enumerate(side.rows[bank.first : bank.end]):
            yield from numbers(job, layout, bank, place, row)
            for block_texts in texts:
                yield from block_texts[place]
        yield from parts.texts
        for block in blocks:
            yield from block.struck()
    yield from _end(side, banks[-1])


def _end(side: _SheetPage, bank: Bank) -> Iterator[Text]:
    """Yield the words that say that the shot ends, if there is room below its last row."""
    job, form = side.job, side.layout.form
    y_mm = bank.top_mm + (bank.end - bank.first) * form.pitch_mm + GRID.end_below_mm
    if bank.end == job.frames and y_mm < form.top_mm + form.rows_mm:
        told = job.settings.words.end.format(shot=job.shot, frames=job.frames)
        text, size_pt = first_that_fits((told, f"{job.shot}: {job.frames}"), side.layout.bank_mm, GRID.end_pt)
        yield Text(bank.left_mm, y_mm, text, size_pt)
