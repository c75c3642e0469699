"""The heading and the foot of a sheet's page: what it is, which page, which state, and what to ask before filming."""

from __future__ import annotations

import datetime
from collections.abc import Iterator
from dataclasses import dataclass
from fractions import Fraction

from lipsync import timing
from lipsync.sheets.alerts import band_on
from lipsync.sheets.block import diamond
from lipsync.sheets.columns import Layout
from lipsync.sheets.job import SheetJob
from lipsync.sheets.lettering import composed, shortened
from lipsync.sheets.marks import Box, Code, Mark, Text
from lipsync.sheets.paper import MARGIN_X_MM, MARGIN_Y_MM, Form
from lipsync.sheets.pdf import string_width_mm
from lipsync.sheets.rows import Row, spelt
from lipsync.sheets.words import Words

_SHOT_PT, _PAGE_PT, _TITLE_PT, _SMALL_PT, _NOTICE_PT = 20.0, 13.0, 10.5, 9.0, 8.0
_CODE_MM = 9.0
_LINE_MM = 3.6


@dataclass(frozen=True, slots=True)
class Notice:
    """What an animator must know of a frame: a word to ask about, or a sound that is not seen; brief and full."""

    row: int
    kind: str
    character: str
    brief: str
    full: str


def notices_of(job: SheetJob, rows: tuple[Row, ...]) -> tuple[Notice, ...]:
    """Return a shot's notices in the order of rows."""
    words = job.settings.words
    found: list[Notice] = []
    for index, character in enumerate(job.characters):
        for row in rows:
            for heard in row.cells[index].begins:
                if heard.doubtful:
                    text = words.doubt_at.format(word=composed(heard.text), frame=row.number)
                    found.append(Notice(row.frame, "doubt", character.name, text, text))
            if row.cells[index].lost:
                found += _lost(job, index, row)
    return tuple(sorted(found, key=lambda notice: notice.row))


def _lost(job: SheetJob, index: int, row: Row) -> Iterator[Notice]:
    character, words = job.characters[index], job.settings.words
    here = list(row.cells[index].lost)
    for missed in character.track.lost:
        sound = missed.sound
        if spelt(sound) in here and row.frame == max(0, timing.frame_at(sound.start_us, job.rate)):
            here.remove(spelt(sound))
            brief = words.lost_at.format(phoneme=sound.symbol, word=composed(sound.text), frame=row.number)
            full = words.lost_why.format(lost=brief, reason=composed(missed.reason))
            yield Notice(row.frame, "lost", character.name, brief, full)


def rate_shown(rate: Fraction) -> str:
    """Return a rate as people write it, exact.

    >>> rate_shown(Fraction(24)), rate_shown(Fraction(24000, 1001)), rate_shown(Fraction(25, 2))
    ('24', '24000/1001', '25/2')
    """
    return str(rate)


def heading(job: SheetJob, form: Form, page: str, frames: str) -> Iterator[Mark]:
    """Return the heading of a page; `page` and `frames` say which it is."""
    words, low = job.settings.words, form.heading_mm < 12
    yield from band_on(form, job.alerts, words, MARGIN_Y_MM + form.heading_mm)
    left_mm, right_mm, top_mm = MARGIN_X_MM, form.width_mm - MARGIN_X_MM, MARGIN_Y_MM
    shot, shot_pt = _sized(words.shot.format(shot=job.shot), form.inner_mm * (0.35 if low else 0.6), _SHOT_PT)
    yield Text(left_mm, top_mm + (7.6 if low else 6.6), shot, shot_pt, bold=True)
    page_mm = string_width_mm(page, _PAGE_PT, True)
    yield Text(right_mm, top_mm + 6.2, page, _PAGE_PT, bold=True, align="right")
    free_mm = right_mm - page_mm - 4.0
    if job.revision:
        text = words.revision.format(letter=job.revision)
        wide_mm = string_width_mm(text, _PAGE_PT, True) + 3.0
        yield Box(free_mm - wide_mm, top_mm + 0.8, wide_mm, 7.2, stroke=0.0, line_mm=0.5)
        yield Text(free_mm - wide_mm / 2, top_mm + 6.2, text, _PAGE_PT, bold=True, align="centre")
        free_mm -= wide_mm + 4.0
    title = f"{composed(job.production)}  ·  {composed(job.scene)}"
    facts = "  ·  ".join([frames, words.rate.format(rate=rate_shown(job.rate)), *_dated(words, job.dated)])
    if low:
        next_mm = left_mm + string_width_mm(shot, shot_pt, True) + 6.0
        yield Text(next_mm, top_mm + 4.2, shortened(title, free_mm - next_mm, _TITLE_PT), _TITLE_PT)
        yield Text(next_mm, top_mm + 8.8, shortened(facts, free_mm - next_mm, _SMALL_PT), _SMALL_PT)
        return
    facts = shortened(facts, form.inner_mm * 0.6, _SMALL_PT)
    facts_mm = string_width_mm(facts, _SMALL_PT)
    yield Text(left_mm, top_mm + 12.2, shortened(title, form.inner_mm - facts_mm - 5.0, _TITLE_PT), _TITLE_PT)
    yield Text(right_mm, top_mm + 12.2, facts, _SMALL_PT, align="right")


def _dated(words: Words, dated: datetime.date | None) -> list[str]:
    return [] if dated is None else [words.dated.format(date=dated.isoformat())]


def _sized(text: str, width_mm: float, size_pt: float) -> tuple[str, float]:
    """Return a text and the largest size, down to 11 points, at which it fits; then it is shortened."""
    text = composed(text)
    while size_pt > 11.0 and string_width_mm(text, size_pt, True) > width_mm:
        size_pt -= 1.0
    return shortened(text, width_mm, size_pt, True), size_pt


def foot(
    job: SheetJob, layout: Layout, stamp: str, notices: tuple[Notice, ...], beats: bool
) -> tuple[list[Mark], int]:
    """Return the foot of a page, and how many notices it had no room for."""
    form, words = layout.form, job.settings.words
    bottom_mm = form.height_mm - MARGIN_Y_MM
    code_mm = form.width_mm - MARGIN_X_MM - _CODE_MM
    marks: list[Mark] = [Code(code_mm, bottom_mm - _CODE_MM, _CODE_MM, stamp)]
    right_mm = code_mm - 2.5
    marks.append(Text(right_mm, bottom_mm - 5.2, words.stamp, 7.5, align="right"))
    marks.append(Text(right_mm, bottom_mm - 0.6, stamp, 11, bold=True, align="right"))
    room_mm = right_mm - string_width_mm(stamp, 11, True) - 6.0 - MARGIN_X_MM
    y_mm, left_over = bottom_mm - 2 * _LINE_MM - 0.4, 0
    for kind, label in (("doubt", words.ask), ("lost", words.not_seen), ("beat", words.beat)):
        texts = [notice.brief for notice in notices if notice.kind == kind]
        in_full = [notice.full for notice in notices if notice.kind == kind]
        if not (texts or (kind == "beat" and beats)):
            continue
        indent_mm = 0.0 if kind == "lost" else 4.2
        bold = kind != "beat"
        label = shortened(label + (":" if texts else ""), room_mm - indent_mm, _NOTICE_PT, bold)
        marks += _sign(kind, MARGIN_X_MM, y_mm)
        marks.append(Text(MARGIN_X_MM + indent_mm, y_mm, label, _NOTICE_PT, bold=bold))
        x_mm = MARGIN_X_MM + indent_mm + string_width_mm(label, _NOTICE_PT, bold) + 1.5
        fits, missed = _as_many(texts, in_full, MARGIN_X_MM + room_mm - x_mm, words)
        left_over += missed
        if fits:
            marks.append(Text(x_mm, y_mm, fits, _NOTICE_PT))
        y_mm += _LINE_MM
    return marks, left_over


def _sign(kind: str, x_mm: float, y_mm: float) -> list[Mark]:
    if kind == "doubt":
        mark = Text(x_mm + 1.45, y_mm, "?", _NOTICE_PT, bold=True, align="centre", grey=1.0)
        return [Box(x_mm, y_mm - 2.5, 2.9, 2.9, fill=0.0), mark]
    return [diamond(x_mm + 1.45, y_mm - 1.0, 1.15)] if kind == "beat" else []


def _as_many(texts: list[str], in_full: list[str], room_mm: float, words: Words) -> tuple[str, int]:
    """Return all texts in full if they fit, else as many brief ones as do, and how many are left over."""
    if string_width_mm("; ".join(in_full), _NOTICE_PT) <= room_mm:
        return "; ".join(in_full), 0
    for count in range(len(texts), -1, -1):
        more = [words.more.format(count=len(texts) - count)] if count < len(texts) else []
        line = "; ".join([*texts[:count], *more])
        if string_width_mm(line, _NOTICE_PT) <= room_mm:
            return line, len(texts) - count
    return "", len(texts)
