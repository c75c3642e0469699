"""The last page of a sheet: everything to ask and to know that had no room in a page's band or foot, in full.

In: a job, its rows, its notices and alerts. Out: the marks of pages between heading and foot.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from lipsync.paper.alerts import ALERT_PT, all_lines, band_lines
from lipsync.paper.foot import Notice, label_of
from lipsync.paper.lettering import sized, widest_mm, wrapped
from lipsync.paper.marks import Mark, Text
from lipsync.paper.page_forms import MARGIN_X_MM, MARGIN_Y_MM, Form
from lipsync.paper.rows import Row
from lipsync.paper.sheet_job import SheetJob
from lipsync.paper.sheet_measures import LIST
from lipsync.paper.signs import row_rule


def left_over_alerts(form: Form, job: SheetJob) -> tuple[str, ...]:
    """Return the alerts in full, if the band has no room for all of them; else nothing."""
    whole = all_lines(job.alerts, form.inner_mm)
    return () if band_lines(form, job.alerts, job.settings.words) == whole else whole


def listed(
    job: SheetJob, form: Form, rows: Sequence[Row], alerts: Sequence[str], notices: Sequence[Notice]
) -> list[list[Mark]]:
    """Return for each page the marks of its lines: alerts first, then notices in the order of frames."""
    top_mm = MARGIN_Y_MM + form.heading_mm + form.band_mm + LIST.top_mm
    bottom_mm = form.height_mm - MARGIN_Y_MM - form.foot_mm
    wide_mm = widest_mm([notice.character for notice in notices], LIST.size_pt)
    names_mm = min(wide_mm, LIST.most_name_part * form.inner_mm) + LIST.name_gap_mm
    pages: list[list[Mark]] = [[]]
    y_mm = top_mm
    entries = [_alert(alert) for alert in alerts]
    entries += [_entry(job, form, rows[notice.row].number, notice, names_mm) for notice in notices]
    for lines, texts in entries:
        high_mm = lines * LIST.line_mm + LIST.pad_mm
        if pages[-1] and y_mm + high_mm > bottom_mm:
            pages.append([])
            y_mm = top_mm
        pages[-1] += [replace(text, y_mm=y_mm + text.y_mm) for text in texts]
        y_mm += high_mm
        pages[-1].append(row_rule(form.width_mm - MARGIN_X_MM, y_mm))
    return pages


def _alert(text: str) -> tuple[int, list[Text]]:
    return 1, [Text(MARGIN_X_MM, LIST.base_mm, text, ALERT_PT, bold=True)]


def _entry(job: SheetJob, form: Form, number: int, notice: Notice, names_mm: float) -> tuple[int, list[Text]]:
    """Return how many lines a notice takes, and its texts: the frame, the character, and the notice in full."""
    text_mm = MARGIN_X_MM + LIST.name_left_mm + names_mm
    what = f"{label_of(notice.kind, job.settings.words)}: {notice.full}"
    lines = wrapped(what, form.width_mm - MARGIN_X_MM - text_mm, LIST.size_pt, LIST.most_lines)
    name, name_pt = sized(notice.character, names_mm - LIST.name_gap_mm, LIST.size_pt)
    number_mm = MARGIN_X_MM + LIST.number_right_mm
    texts: list[Text] = [
        Text(number_mm, LIST.base_mm, str(number), LIST.number_pt, bold=True, align="right"),
        Text(MARGIN_X_MM + LIST.name_left_mm, LIST.base_mm, name, name_pt),
    ]
    texts += [Text(text_mm, LIST.base_mm + n * LIST.line_mm, line, LIST.size_pt) for n, line in enumerate(lines)]
    return len(lines), texts
