"""Where each column is: its width follows from what is printed in it, and the rest of the page is shared out.

In: a job, how wide its texts are, and a kind of page. Out: a `Layout`; or None if the columns need more width
(needs.py) than the page has, and then choosing.py tries another page. If there is room to spare, letters grow first,
then the columns to write in. Each frame's number gets a box to tick if that costs no bank and no column, and makes no
letters smaller except those of feet and timecode.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace
from math import ceil

from lipsync.paper.alerts import alerted
from lipsync.paper.lettering import HAIR_MM
from lipsync.paper.measures import Measured
from lipsync.paper.needs import FREE, Need, needs_of
from lipsync.paper.page_breaks import PageRange, page_ranges, rows_each
from lipsync.paper.page_forms import Form, Letters, form_of
from lipsync.paper.sheet_job import SheetJob
from lipsync.paper.sheet_measures import GRID, LANES
from lipsync.paper.sheet_settings import FACE
from lipsync.timing import nominal_rate

# Width of the box to tick and the blank around it, in the column of numbers.
_TICK_ROOM_MM = GRID.tick_mm + GRID.tick_pad_mm

# Columns that the compact form keeps; and those that it leaves out one by one, in this order, until two banks fit.
_COMPACT = ("frame", "feet", "timecode", "character", "notes", "filmed")
_LEFT_OUT = ("notes", "timecode", "feet")

# How much letters grow where there is room, the largest first.
_SCALES = (1.5, 1.35, 1.2, 1.1)


@dataclass(frozen=True, slots=True)
class Lane:
    """A strip of a character's column: its left edge from the bank's, and its width."""

    x_mm: float
    width_mm: float


@dataclass(frozen=True, slots=True)
class Column:
    """A column: its name and where it lies in a bank.

    Attributes:
        name: as in the settings.
        x_mm: its left edge, from the bank's.
        width_mm: its width.
        character: whose it is.
        lanes: of a character's, by name, from left to right.
        brief: whether its notes are printed in brief.
    """

    name: str
    x_mm: float
    width_mm: float
    character: int | None = None
    lanes: tuple[tuple[str, Lane], ...] = ()
    brief: bool = False


@dataclass(frozen=True, slots=True)
class Kind:
    """A kind of page: paper, how it lies, and the form."""

    page: str
    orientation: str
    form: str


@dataclass(frozen=True, slots=True)
class Layout:
    """How a shot's pages are cut up.

    Attributes:
        form: the page's.
        letters: their sizes.
        banks: how many stand side by side.
        bank_mm: how wide each is.
        columns: those of a bank.
        left_out: names of columns for which there is no room.
        boxed: whether each frame's number has a box to tick beside it.
        picture_mm: the width of all pictures: those of a page are drawn to one scale.
    """

    form: Form
    letters: Letters
    banks: int
    bank_mm: float
    columns: tuple[Column, ...]
    left_out: tuple[str, ...] = ()
    boxed: bool = False
    picture_mm: float = 0.0


def layout_on(job: SheetJob, texts: Measured, kind: Kind, names: tuple[str, ...]) -> Layout | None:
    """Return the layout of these columns on a kind of page; None if the page is too small for them."""
    form = alerted(form_of(kind.page, kind.orientation, kind.form), job.alerts, job.settings.words)
    if (
        form.is_large
        and rows_each(form, job.rate)
        < nominal_rate(job.rate)
        <= form_of(kind.page, kind.orientation, "standard").most_rows
    ):
        return None  # pages would break within a second, which the standard form avoids
    fewer = [name for name in names if form.banks == 1 or name in _COMPACT]
    most = min(form.banks, ceil(job.frames / rows_each(form, job.rate, form.banks)))
    for left_out in range(len(_LEFT_OUT) + 1 if most > 1 else 0):
        kept = [name for name in fewer if name not in _LEFT_OUT[:left_out]]
        for banks in range(most, 1, -1):
            if (layout := _banked(job, texts, kept, form, banks)) is not None:
                return replace(layout, left_out=tuple(name for name in names if name not in kept))
    # With one bank there may be room for all columns.
    for kept in (list(names), fewer):
        if (layout := _banked(job, texts, kept, form, 1)) is not None:
            return replace(layout, left_out=tuple(name for name in names if name not in kept))
    return None


def laid_again(job: SheetJob, texts: Measured, layout: Layout, rows: int) -> Layout:
    """Return the layout of a page with other rows to a bank: the same columns, letters as large as fit."""
    if rows == layout.form.rows:
        return layout
    found = _banked(job, texts, _names(layout), layout.form, layout.banks, rows)
    if found is None:
        return layout
    return replace(found, left_out=layout.left_out, boxed=found.boxed and layout.boxed)


def _names(layout: Layout) -> list[str]:
    found = dict.fromkeys(
        name
        for column in layout.columns
        for name in (column.name, *(lane for lane, _ in column.lanes if lane in FACE))
    )
    return list(found)


def ranges_of(job: SheetJob, layout: Layout, frames: int) -> tuple[PageRange, ...]:
    """Return the pages of a shot of so many frames in this layout."""
    return page_ranges(frames, layout.form, job.rate, layout.banks)


def _banked(job: SheetJob, texts: Measured, names: list[str], form: Form, banks: int, rows: int = 0) -> Layout | None:
    """Return the layout with so many banks, or None if columns lack width; `rows` 0 is what the rate asks for."""
    form = replace(form, rows=rows or rows_each(form, job.rate, banks))
    bank_mm = (form.inner_mm - (banks - 1) * GRID.bank_gap_mm) / banks
    if sum(need.least_mm for need in needs_of(job, texts, names, form, form.tight)) > bank_mm:
        return None
    letters = _largest(job, texts, names, form, bank_mm)
    # Feet and timecode may be smaller for a box: they are looked up now and then, a box is ticked at every frame.
    smaller = replace(letters, feet=form.tight.feet, timecode=form.tight.timecode)
    for sizes in (letters, smaller) if "filmed" not in names else ():
        needs = [_with_box(need) for need in needs_of(job, texts, names, form, sizes)]
        if sum(need.least_mm for need in needs) <= bank_mm:
            return _laid_out(form, sizes, texts, needs, (banks, bank_mm), boxed=True)
    needs = list(needs_of(job, texts, names, form, letters))
    return _laid_out(form, letters, texts, needs, (banks, bank_mm))


def _laid_out(
    form: Form,
    letters: Letters,
    texts: Measured,
    needs: list[Need],
    banks: tuple[int, float],
    *,
    boxed: bool = False,
) -> Layout:
    """Return the layout with its widths; `banks` are how many and how wide."""
    widths = _shared(needs, banks[1])
    brief = _in_brief(letters, texts, needs, widths)
    letters = replace(letters, note=_note_pt(letters, texts, needs, widths, brief))
    return Layout(form, letters, *banks, tuple(_placed(needs, widths, brief)), boxed=boxed)


def _codes(needs: list[Need], widths: list[float]) -> Iterator[tuple[int, float]]:
    """Yield for each character how wide a text beside its pictures may be."""
    for need, width_mm in zip(needs, widths, strict=True):
        if need.name == "code" and need.character is not None:
            yield need.character, width_mm - 2 * LANES.pad_mm


def _in_brief(letters: Letters, texts: Measured, needs: list[Need], widths: list[float]) -> frozenset[int]:
    """Return the characters whose notes have no room in full at their least size."""
    return frozenset(
        index
        for index, wide_mm in _codes(needs, widths)
        if texts.characters[index].note * letters.note > wide_mm + HAIR_MM
    )


def _note_pt(
    letters: Letters, texts: Measured, needs: list[Need], widths: list[float], brief: frozenset[int]
) -> float:
    """Return the largest size for notes, in half points, for which all have room; never less than now."""
    most = letters.code * LANES.note_part
    for index, wide_mm in _codes(needs, widths):
        one = texts.characters[index]
        if note := one.brief_note if index in brief else one.note:
            most = min(most, wide_mm / note)
    return max(letters.note, int(most * 2 + HAIR_MM) / 2)


def _with_box(need: Need) -> Need:
    if need.name != "frame":
        return need
    return replace(need, least_mm=need.least_mm + _TICK_ROOM_MM, wish_mm=need.wish_mm + _TICK_ROOM_MM)


def _largest(job: SheetJob, texts: Measured, names: list[str], form: Form, bank_mm: float) -> Letters:
    """Return the largest letters for which every column has the width it wishes; else the width it needs."""
    for scale in _SCALES:
        grown = form.letters.scaled(scale)
        if grown.reach_mm > form.pitch_mm:
            continue
        needs = needs_of(job, texts, names, form, grown)
        # Codes and other letters grow before those of notes.
        wished_mm = sum(need.least_mm if need.name == "code" else need.wish_mm for need in needs)
        if wished_mm <= bank_mm:
            return grown
    needed_mm = sum(need.least_mm for need in needs_of(job, texts, names, form, form.letters))
    fits = form.letters.reach_mm <= form.pitch_mm and needed_mm <= bank_mm
    return form.letters if fits else form.tight


def _shared(needs: list[Need], bank_mm: float) -> list[float]:
    """Return the width of each column or lane: its least, its wish if there is room, and a share of the rest."""
    widths = [need.least_mm for need in needs]
    spare_mm = bank_mm - sum(widths)
    free = frozenset(FREE)
    for kinds in (frozenset({"picture"}), frozenset({"code"}), free):
        wishes = [need.wish_mm - need.least_mm if need.name in kinds else 0.0 for need in needs]
        part = min(1.0, spare_mm / sum(wishes)) if any(wishes) else 0.0
        widths = [width + part * wish for width, wish in zip(widths, wishes, strict=True)]
        spare_mm = max(0.0, spare_mm - part * sum(wishes))
    if not any(need.name in free for need in needs):
        # Without columns to write in, words get some of the rest, and what remains stays white.
        count = sum(need.name == "word" for need in needs)
        more_mm = min(spare_mm / count, LANES.most_spare_word_mm) if count else 0.0
        return [w + (more_mm if need.name == "word" else 0.0) for w, need in zip(widths, needs, strict=True)]
    free_mm = sum(need.wish_mm for need in needs if need.name in free)
    return [
        width + (spare_mm * need.wish_mm / free_mm if need.name in free else 0.0)
        for width, need in zip(widths, needs, strict=True)
    ]


def _placed(needs: list[Need], widths: list[float], brief: frozenset[int]) -> Iterator[Column]:
    """Set columns side by side, a character's lanes together in one."""
    x_mm, place = 0.0, 0
    while place < len(needs):
        need = needs[place]
        if need.character is None:
            yield Column(need.name, x_mm, widths[place])
            x_mm, place = x_mm + widths[place], place + 1
            continue
        lanes: list[tuple[str, Lane]] = []
        left_mm, index = x_mm, need.character
        while place < len(needs) and needs[place].character == index:
            lanes.append((needs[place].name, Lane(x_mm, widths[place])))
            x_mm, place = x_mm + widths[place], place + 1
        yield Column("character", left_mm, x_mm - left_mm, index, tuple(lanes), index in brief)
