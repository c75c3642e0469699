"""Which column lies where: widths made from what is printed in them, shared out over the page.

In come a job and how wide its texts are, out a `Layout`. Where what columns need (needs.py) is too much for the page,
the error says what would fit. Where there is room to spare, letters grow first, then the columns to write in. Each
frame's number has a box to tick beside it wherever no bank or column, and no letters but feet and timecode, have to
give way for it.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace
from math import ceil

from lipsync.errors import InputError
from lipsync.paper.alerts import alerted
from lipsync.paper.marks import MM_PER_POINT
from lipsync.paper.measures import Measured
from lipsync.paper.needs import FREE, NOTE_PART, PAD_MM, Need, needs_of
from lipsync.paper.page_forms import FORMS, ORIENTATIONS, PAPER, Form, Letters, form_of
from lipsync.paper.sheet_job import SheetJob

# The box to tick beside a frame's number, and what it takes of the column with the blank around it.
TICK_MM = 2.6
_TICK_ROOM_MM = TICK_MM + 0.6

# Blank between two banks.
GAP_MM = 4.0

# The most that a word's column grows where there is nothing to write in.
_MOST_SPARE_MM = 30.0

# Columns that the compact form has room for, and those that it leaves out, the first first, until two banks fit.
_COMPACT = ("frame", "feet", "timecode", "character", "notes", "filmed")
_LEFT_OUT = ("notes", "timecode", "feet")

# How much letters grow where there is room, the largest first.
_SCALES = (1.5, 1.35, 1.2, 1.1)

# How high letters are from the lowest to the highest, in sizes (DejaVu Sans Condensed): codes, plain letters and
# digits, from g to b; words, from a bracket's foot to a capital's caron.
_CODE_REACH = 0.976
_WORD_REACH = 1.19


@dataclass(frozen=True, slots=True)
class Lane:
    """A strip of a character's column: its left edge from the bank's, and its width."""

    x_mm: float
    width_mm: float


@dataclass(frozen=True, slots=True)
class Column:
    """A column: its name and where it lies in a bank; for a character also which, and its lanes by name."""

    name: str
    x_mm: float
    width_mm: float
    character: int | None = None
    lanes: tuple[tuple[str, Lane], ...] = ()


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
    """

    form: Form
    letters: Letters
    banks: int
    bank_mm: float
    columns: tuple[Column, ...]
    left_out: tuple[str, ...] = ()
    boxed: bool = False


def layout_of(job: SheetJob, texts: Measured) -> Layout:
    """Return where the columns of a shot's sheet lie.

    Raises:
        InputError: if the page is too small; it says what would fit.
    """
    settings = job.settings
    found = _fitted(job, texts, settings.page, settings.orientation, settings.form)
    if found is None:
        raise InputError.one("", f"shot {job.shot}", _too_small(job, texts))
    return found


def _fitted(job: SheetJob, texts: Measured, page: str, orientation: str, kind: str) -> Layout | None:
    form = alerted(form_of(page, orientation, kind), job.alerts, job.settings.words)
    names = [name for name in job.settings.columns if form.banks == 1 or name in _COMPACT]
    most = min(form.banks, ceil(job.frames / form.rows))
    for left_out in range(len(_LEFT_OUT) + 1 if most > 1 else 0):
        fewer = [name for name in names if name not in _LEFT_OUT[:left_out]]
        for banks in range(most, 1, -1):
            if (found := _banked(job, texts, fewer, form, banks)) is not None:
                return found
    # With one bank there may be room for all columns.
    return _banked(job, texts, list(job.settings.columns), form, 1) or _banked(job, texts, names, form, 1)


def _banked(job: SheetJob, texts: Measured, names: list[str], form: Form, banks: int) -> Layout | None:
    """Return the layout with so many banks, if columns have what they need."""
    bank_mm = (form.inner_mm - (banks - 1) * GAP_MM) / banks
    if sum(need.least_mm for need in needs_of(job, texts, names, form, form.tight)) > bank_mm:
        return None
    letters = _largest(job, texts, names, form, bank_mm)
    left_out = tuple(name for name in job.settings.columns if name not in names)
    # Feet and timecode are looked up now and then; a box is ticked at every frame.
    smaller = replace(letters, feet=form.tight.feet, timecode=form.tight.timecode)
    for sizes in (letters, smaller) if "filmed" not in names else ():
        needs = [_with_box(need) for need in needs_of(job, texts, names, form, sizes)]
        if sum(need.least_mm for need in needs) <= bank_mm:
            return _laid_out(form, sizes, texts, needs, (banks, bank_mm), left_out, boxed=True)
    needs = list(needs_of(job, texts, names, form, letters))
    return _laid_out(form, letters, texts, needs, (banks, bank_mm), left_out)


def _laid_out(
    form: Form,
    letters: Letters,
    texts: Measured,
    needs: list[Need],
    banks: tuple[int, float],
    left_out: tuple[str, ...],
    *,
    boxed: bool = False,
) -> Layout:
    """Return the layout with its widths; `banks` are how many and how wide."""
    widths = _shared(needs, banks[1])
    letters = replace(letters, note=_note_pt(letters, texts, needs, widths))
    return Layout(form, letters, *banks, tuple(_placed(needs, widths)), left_out, boxed)


def _note_pt(letters: Letters, texts: Measured, needs: list[Need], widths: list[float]) -> float:
    """Return the largest size, in half points, that all notes have room for; at least what it is."""
    most = letters.code * NOTE_PART
    for need, width_mm in zip(needs, widths, strict=True):
        if need.name == "code" and (note := texts.characters[need.character or 0].note):
            most = min(most, (width_mm - 2 * PAD_MM) / note)
    return max(letters.note, int(most * 2 + 1e-6) / 2)


def _with_box(need: Need) -> Need:
    if need.name != "frame":
        return need
    return replace(need, least_mm=need.least_mm + _TICK_ROOM_MM, wish_mm=need.wish_mm + _TICK_ROOM_MM)


def _largest(job: SheetJob, texts: Measured, names: list[str], form: Form, bank_mm: float) -> Letters:
    """Return the largest letters for which every column has what it wishes, or else what it needs."""
    for scale in _SCALES:
        grown = form.letters.scaled(scale)
        needs = needs_of(job, texts, names, form, grown)
        # Codes and all beside them grow before the notes do.
        wished_mm = sum(need.least_mm if need.name == "code" else need.wish_mm for need in needs)
        if _reach_mm(grown) <= form.pitch_mm and wished_mm <= bank_mm:
            return grown
    needed_mm = sum(need.least_mm for need in needs_of(job, texts, names, form, form.letters))
    fits = _reach_mm(form.letters) <= form.pitch_mm and needed_mm <= bank_mm
    return form.letters if fits else form.tight


def _reach_mm(letters: Letters) -> float:
    """Return how high a row must be for its letters."""
    return max(letters.code * _CODE_REACH, letters.word * _WORD_REACH) * MM_PER_POINT


def _too_small(job: SheetJob, texts: Measured) -> str:
    settings = job.settings
    fits = [
        f"{page} {orientation}" + ("" if form == settings.form else f" in the {form} form")
        for form in dict.fromkeys([settings.form, *FORMS])
        for page in PAPER
        for orientation in ORIENTATIONS
        if _fitted(job, texts, page, orientation, form)
    ]
    who = f"{len(job.characters)} characters" if len(job.characters) > 1 else "the columns asked for"
    text = f"{settings.page} {settings.orientation} in the {settings.form} form is too small for {who}"
    if fits:
        # The page is that of the whole production.
        text = f"{text} ([sheet] in production.toml)"
        return f"{text}; what fits is {', '.join(fits[:3])}" + (f" and {len(fits) - 3} others" * (len(fits) > 3))
    return f"{text}, and so is every other page; take names out of `columns`, or give the shot fewer characters"


def _shared(needs: list[Need], bank_mm: float) -> list[float]:
    """Return each need's width: what it must have, then its wish (words first), then a share of the rest."""
    widths = [need.least_mm for need in needs]
    spare_mm = bank_mm - sum(widths)
    free = frozenset(FREE)
    for kinds in (frozenset({"word"}), frozenset({"picture"}), frozenset({"code"}), free):
        wishes = [need.wish_mm - need.least_mm if need.name in kinds else 0.0 for need in needs]
        part = min(1.0, spare_mm / sum(wishes)) if any(wishes) else 0.0
        widths = [width + part * wish for width, wish in zip(widths, wishes, strict=True)]
        spare_mm = max(0.0, spare_mm - part * sum(wishes))
    if not any(need.name in free for need in needs):
        # Nothing to write in: words get some of it, and the rest stays white.
        count = sum(need.name == "word" for need in needs)
        more_mm = min(spare_mm / count, _MOST_SPARE_MM) if count else 0.0
        return [w + (more_mm if need.name == "word" else 0.0) for w, need in zip(widths, needs, strict=True)]
    free_mm = sum(need.wish_mm for need in needs if need.name in free)
    return [
        width + (spare_mm * need.wish_mm / free_mm if need.name in free else 0.0)
        for width, need in zip(widths, needs, strict=True)
    ]


def _placed(needs: list[Need], widths: list[float]) -> Iterator[Column]:
    """Set columns side by side, a character's lanes together in one."""
    x_mm, place = 0.0, 0
    while place < len(needs):
        need = needs[place]
        if need.character is None:
            yield Column(need.name, x_mm, widths[place])
            x_mm, place = x_mm + widths[place], place + 1
            continue
        lanes: list[tuple[str, Lane]] = []
        left_mm = x_mm
        while place < len(needs) and needs[place].character == need.character:
            lanes.append((needs[place].name, Lane(x_mm, widths[place])))
            x_mm, place = x_mm + widths[place], place + 1
        yield Column("character", left_mm, x_mm - left_mm, need.character, tuple(lanes))
