"""The foot of a sheet's page: what to ask before filming, what each sign on the page means, and which state it shows.

In: a job, a page's layout and what occurs on the page. Out: marks. Signs that do not occur are not explained.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Literal

from lipsync.paper.columns import Layout
from lipsync.paper.grid import changed_bar
from lipsync.paper.lettering import composed, shortened, sized, wrapped
from lipsync.paper.marks import Box, Code, Mark, Rule, Text
from lipsync.paper.page_forms import MARGIN_X_MM, MARGIN_Y_MM
from lipsync.paper.pdf import string_width_mm
from lipsync.paper.rows import Row, rows_where, spelt
from lipsync.paper.sheet_job import SheetJob
from lipsync.paper.sheet_measures import FOOT, GRID, HOLD, SOUND
from lipsync.paper.sheet_words import Words
from lipsync.paper.signs import diamond, wave

NoticeKind = Literal["doubt", "lost", "misfit", "note", "part", "word"]
NOTICE_KINDS: tuple[NoticeKind, ...] = ("doubt", "lost", "misfit", "note", "part", "word")


@dataclass(frozen=True, slots=True)
class Notice:
    """What must be known of a frame, in brief and in full: a doubtful or too long word, a lost sound, a note.

    A misfit is a place where what is filmed does not fit its sound.
    """

    row: int
    kind: NoticeKind
    character: str
    brief: str
    full: str


# More lines than a studio's own sentence may take: it is printed in full.
_MOST_LEGEND_LINES = 8


@dataclass(frozen=True, slots=True)
class Sign:
    """A sign that occurs on a page (or a remark without a sign), and its explanation, in full and in brief."""

    kind: Literal["changed", "filmed", "toward", "alive", "beat", "box", "level", ""]
    text: str
    brief: str


def notices_of(job: SheetJob, rows: tuple[Row, ...]) -> tuple[Notice, ...]:
    """Return a shot's notices in the order of rows."""
    words = job.settings.words
    notices: list[Notice] = []
    for index, character in enumerate(job.characters):
        for frame, what in character.misfits:
            brief = words.misfit_at.format(frame=rows[frame].number)
            full = words.misfit_why.format(at=brief, what=what)
            notices.append(Notice(frame, "misfit", character.name, brief, full))
        for row in rows:
            for heard in row.cells[index].begins:
                # A doubt about a frame in the can is not asked about: the frame is final.
                if heard.doubtful and not job.filmed.issuperset(range(heard.first, heard.last + 1)):
                    text = words.doubt_at.format(word=composed(heard.text), frame=row.number)
                    notices.append(Notice(row.frame, "doubt", character.name, text, text))
            if row.cells[index].lost:
                notices += _lost(job, index, row)
    return tuple(sorted(notices, key=lambda notice: notice.row))


def _lost(job: SheetJob, index: int, row: Row) -> Iterator[Notice]:
    character, words = job.characters[index], job.settings.words
    here = list(row.cells[index].lost)
    for missed in character.track.lost:
        sound = missed.sound
        if spelt(sound) in here and row.frame in rows_where(job, sound):
            here.remove(spelt(sound))
            brief = words.lost_at.format(phoneme=sound.symbol, word=composed(sound.text), frame=row.number)
            full = words.lost_why.format(lost=brief, reason=composed(missed.reason))
            yield Notice(row.frame, "lost", character.name, brief, full)


def foot(
    job: SheetJob, layout: Layout, stamp: str, notices: Sequence[Notice] = (), signs: Sequence[Sign] = ()
) -> tuple[list[Mark], int]:
    """Return the foot of a page, and how many notices it had no room for."""
    form, words, size_pt = layout.form, job.settings.words, layout.form.foot_pt
    bottom_mm = form.height_mm - MARGIN_Y_MM
    code_mm = form.width_mm - MARGIN_X_MM - FOOT.code_mm
    marks: list[Mark] = [Code(code_mm, bottom_mm - FOOT.code_mm, FOOT.code_mm, stamp)]
    right_mm = code_mm - FOOT.code_gap_mm
    stamp_mm = string_width_mm(stamp, FOOT.stamp_pt, True)
    label, label_pt = sized(words.stamp, stamp_mm, FOOT.stamp_label_pt)
    marks.append(Text(right_mm, bottom_mm - FOOT.stamp_label_up_mm, label, label_pt, align="right"))
    marks.append(Text(right_mm, bottom_mm - FOOT.stamp_up_mm, stamp, FOOT.stamp_pt, bold=True, align="right"))
    room_mm = right_mm - stamp_mm - FOOT.stamp_gap_mm - MARGIN_X_MM
    y_mm = bottom_mm - (form.foot_lines - 1) * form.foot_line_mm - FOOT.last_line_up_mm
    lines, left_over = form.foot_lines, 0
    for kind in NOTICE_KINDS:
        of_kind = [notice for notice in notices if notice.kind == kind]
        if of_kind and not lines:
            left_over += len(of_kind)
        elif of_kind:
            line, missed = _noticed(of_kind, f"{label_of(kind, words)}:", size_pt, room_mm, y_mm, words.more)
            marks += line
            left_over += missed
            y_mm, lines = y_mm + form.foot_line_mm, lines - 1
    marks += _legend(signs, size_pt, form.foot_line_mm, room_mm, y_mm, lines)
    return marks, left_over


def label_of(kind: str, words: Words) -> str:
    """Return what notices of a kind are about."""
    labels = {"doubt": words.doubtful, "lost": words.not_seen, "misfit": words.misfit}
    labels |= {"note": words.modelling, "part": words.parts}
    return labels.get(kind, words.word)


def _noticed(
    notices: Sequence[Notice], label: str, size_pt: float, room_mm: float, y_mm: float, more: str
) -> tuple[list[Mark], int]:
    """Return a line of notices of one kind, and how many had no room in it."""
    x_mm, marks = MARGIN_X_MM, list[Mark]()
    if notices[0].kind == "doubt":
        side_mm = FOOT.badge * size_pt
        marks.append(Box(x_mm, y_mm - FOOT.badge_up * size_pt, side_mm, side_mm, fill=0.0))
        marks.append(Text(x_mm + side_mm / 2, y_mm, "?", size_pt, bold=True, align="centre", grey=1.0))
        x_mm += FOOT.indent * size_pt
    label = shortened(label, MARGIN_X_MM + room_mm - x_mm, size_pt, True)
    marks.append(Text(x_mm, y_mm, label, size_pt, bold=True))
    x_mm += string_width_mm(label, size_pt, True) + FOOT.label_gap_mm
    fits, missed = _as_many(notices, size_pt, MARGIN_X_MM + room_mm - x_mm, more)
    if fits:
        marks.append(Text(x_mm, y_mm, fits, size_pt))
    return marks, missed


def _as_many(notices: Sequence[Notice], size_pt: float, room_mm: float, more: str) -> tuple[str, int]:
    """Return all notices in full if they fit; else as many brief ones as fit, and how many are left over."""
    whole = "; ".join(notice.full for notice in notices)
    if string_width_mm(whole, size_pt) <= room_mm:
        return whole, 0
    texts = [notice.brief for notice in notices]
    for count in range(len(texts), -1, -1):
        rest = [more.format(count=len(texts) - count)] if count < len(texts) else []
        line = "; ".join([*texts[:count], *rest])
        if string_width_mm(line, size_pt) <= room_mm:
            return line, len(texts) - count
    return "", len(texts)


def _legend(
    signs: Sequence[Sign], size_pt: float, line_mm: float, room_mm: float, y_mm: float, lines: int
) -> Iterator[Mark]:
    """Return the explanations of signs, as many on a line as fit.

    If they need too many lines, first the explanations that may be left out go, from the last on; then all the others
    are given in brief.
    """
    kept = list(signs)
    while len(said := _in_lines([(sign.kind, sign.text) for sign in kept], size_pt, room_mm)) > lines:
        spared = [sign for sign in kept if not sign.brief]
        if not spared:
            said = _in_lines([(sign.kind, sign.brief) for sign in kept], size_pt, room_mm)
            break
        kept.remove(spared[-1])
    for line in said[:lines]:
        x_mm = MARGIN_X_MM
        for kind, text in line:
            yield from _drawn(kind, x_mm, y_mm, size_pt)
            x_mm += FOOT.indent * size_pt if kind else 0.0
            yield Text(x_mm, y_mm, text, size_pt)
            x_mm += string_width_mm(text, size_pt) + FOOT.gap * size_pt
        y_mm += line_mm


def _in_lines(said: Sequence[tuple[str, str]], size_pt: float, room_mm: float) -> list[list[tuple[str, str]]]:
    lines: list[list[tuple[str, str]]] = []
    used_mm = room_mm
    for kind, text in said:
        indent_mm = FOOT.indent * size_pt if kind else 0.0
        # An explanation that is longer than a line continues on the next line.
        for part in wrapped(text, room_mm - indent_mm, size_pt, _MOST_LEGEND_LINES):
            wide_mm = indent_mm + string_width_mm(part, size_pt)
            if used_mm + FOOT.gap * size_pt + wide_mm > room_mm:
                lines.append([])
                used_mm = -FOOT.gap * size_pt
            lines[-1].append((kind, part))
            used_mm += FOOT.gap * size_pt + wide_mm
            kind = ""
    return lines


def _drawn(kind: str, x_mm: float, y_mm: float, size_pt: float) -> Iterator[Mark]:
    high_mm = FOOT.sign_high * size_pt
    top_mm, line_mm = y_mm - FOOT.sign_up * size_pt, x_mm + FOOT.line_right_mm
    if kind == "changed":
        yield changed_bar(x_mm + FOOT.bar_right_mm, top_mm, high_mm)
    elif kind == "filmed":
        yield Box(x_mm, top_mm, FOOT.filmed_wide * size_pt, high_mm, fill=GRID.filmed_grey)
    elif kind == "level":
        yield Box(x_mm + FOOT.box_right_mm, top_mm, FOOT.box * size_pt, high_mm, fill=SOUND.level_grey)
    elif kind == "box":
        side_mm = FOOT.box * size_pt
        yield Box(x_mm + FOOT.box_right_mm, y_mm - side_mm, side_mm, side_mm, stroke=0.0, line_mm=GRID.tick_line_mm)
    elif kind == "toward":
        ends_mm = top_mm - FOOT.line_beyond_mm, top_mm + high_mm + FOOT.line_beyond_mm
        yield Rule(line_mm, ends_mm[0], line_mm, ends_mm[1], HOLD.line_mm, dash_mm=HOLD.dash_mm)
    elif kind == "alive":
        yield wave(line_mm, top_mm - FOOT.line_beyond_mm, top_mm + high_mm + FOOT.line_beyond_mm)
    elif kind == "beat":
        yield diamond(x_mm + FOOT.beat_right_mm, y_mm - FOOT.beat_up * size_pt, FOOT.beat_half * size_pt)
