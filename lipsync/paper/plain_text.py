"""A shot's sheet as plain text, for a terminal: made from the rows that are printed, so that it says the same."""

from __future__ import annotations

from collections.abc import Iterator

from rich.cells import cell_len

from lipsync import timing
from lipsync.paper.lettering import composed
from lipsync.paper.measures import said_in
from lipsync.paper.rows import Row, rows_of, stamp_of
from lipsync.paper.sheet_job import SheetJob


def text_of(job: SheetJob) -> str:
    """Return a shot's sheet as plain text: a line for each frame, a rule at each second, ":" where something goes on.

    A frame in the can has a "*" after its number, a doubtful word a "?" before it; a last line explains those that
    occur.
    """
    words, rows = job.settings.words, rows_of(job)
    names = ["", "", *(text for character in job.characters for text in (character.name, "", ""))]
    head = [words.frame, words.timecode, *[words.word, words.phoneme, words.piece] * len(job.characters)]
    befores = [None, *rows[:-1]]
    table = [
        [f"{row.number}{'*' * (row.frame in job.filmed)}", row.timecode, *_cells_shown(job, before, row)]
        for before, row in zip(befores, rows, strict=True)
    ]
    widths = [max(map(cell_len, column)) for column in zip(head, *table, strict=True)]
    for place, name in enumerate(names):
        widths[place] = max(widths[place], cell_len(name))
    second = timing.nominal_rate(job.rate)
    rule = _line(["-" * width for width in widths], widths).replace(" ", "-").replace("|", "+")
    title = (
        f"{words.shot.format(shot=job.shot)}   {job.production} · {job.scene}   {words.stamp} {stamp_of(job, rows)}"
    )
    lines = [title, *(composed(alert) for alert in job.alerts), "", _line(names, widths), _line(head, widths), rule]
    for row, shown in zip(rows, table, strict=True):
        if row.frame and row.frame % second == 0:
            lines.append(rule)
        lines.append(_line(shown, widths))
    doubtful = any(heard.doubtful for row in rows for cell in row.cells for heard in cell.begins)
    signs = [f"* {words.in_the_can}"] * bool(job.filmed) + [f"? {words.doubtful}"] * doubtful
    lines += ["", "   ".join(signs)] if signs else []
    return "\n".join(lines) + "\n"


def _cells_shown(job: SheetJob, before: Row | None, row: Row) -> Iterator[str]:
    for index, cell in enumerate(row.cells):
        doubt = "? " if any(heard.doubtful for heard in cell.begins) else ""
        yield doubt + said_in(cell, job.settings.words) or (":" if cell.runs else "")
        yield " ".join(cell.phonemes)
        # A piece is named again when its character comes back on camera, as on paper.
        goes_on = before is not None and before.cells[index].piece == cell.piece
        worn = ":" if goes_on and not cell.fitted else cell.piece
        yield job.settings.words.off_camera if cell.piece is None else worn or ""


def _line(cells: list[str], widths: list[int]) -> str:
    """Return cells side by side, with a double bar before the three cells of each character."""
    padded = [cell + " " * (width - cell_len(cell)) for cell, width in zip(cells, widths, strict=True)]
    blocks = [padded[:2], *(padded[place : place + 3] for place in range(2, len(padded), 3))]
    return " || ".join(" | ".join(block) for block in blocks).rstrip()
