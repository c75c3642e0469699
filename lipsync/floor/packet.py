"""What goes to the set with a shot, in one file: its sheet, the chart of each character, the board, the doubts.

In: sheets with their revisions. Out: `Document`s with bookmarks and page numbers of their own: one for a shot, or one
for a scene, with a contents page. In a scene's packet each chart stands once, before the shots.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace

from lipsync.floor.layout_board import board_pages
from lipsync.floor.listing import Entry, listing
from lipsync.floor.revising import Revised
from lipsync.paper.chart_page import chart
from lipsync.paper.chart_tiles import ChartJob
from lipsync.paper.foot import notices_of
from lipsync.paper.lettering import sized
from lipsync.paper.marks import Bookmark, Document, Mark, Page, Text, joined
from lipsync.paper.page_forms import MARGIN_X_MM, MARGIN_Y_MM, form_of
from lipsync.paper.sheet_job import SheetCharacter, SheetJob
from lipsync.paper.sheet_words import Words
from lipsync.paper.signs import row_rule


@dataclass(frozen=True, slots=True)
class PacketMeasures:
    """The measures of the contents page and of the page number in the packet, all chosen by eye.

    Names with `_part`, and `facts_at`, are parts of the inner width.
    """

    folio_pt: float = 8.5
    folio_mm: float = 60.0
    folio_base_mm: float = 1.8
    top_mm: float = 26.0
    scene_pt: float = 20.0
    scene_base_mm: float = 7.6
    scene_part: float = 0.6
    page_pt: float = 13.0
    page_base_mm: float = 6.6
    page_part: float = 0.35
    production_pt: float = 10.5
    production_base_mm: float = 13.6
    line_mm: float = 8.0
    line_pt: float = 12.0
    title_part: float = 0.4
    facts_pt: float = 9.0
    facts_at: float = 0.42
    facts_part: float = 0.42
    rule_mm: float = 2.4


PACKET = PacketMeasures()


@dataclass(frozen=True, slots=True)
class ShotParts:
    """The parts of a shot's packet.

    Attributes:
        revised: its sheet.
        sheet: the sheet's pages, with what changed.
        after: what follows the charts: the board and the doubts, where there are any.
    """

    revised: Revised
    sheet: Document
    after: tuple[Document, ...]


def parts_of(revised: Revised, missing: Sequence[str] = ()) -> ShotParts:
    """Return the parts of a shot's packet except the charts; `missing` are ids of lines that are not on its sheet.

    Raises:
        InputError: if the page is too small for its sheet.
    """
    job, stamp, words = revised.job, revised.revision.state.stamp, revised.job.settings.words
    after = ((words.board, board_pages(job, stamp)), (words.doubts, _doubts(revised, missing)))
    return ShotParts(revised, revised.document(), tuple(Document(title, pages) for title, pages in after if pages))


def charts_of(job: SheetJob) -> dict[str, Document]:
    """Return the mouth chart of each character of a shot, by its name.

    Raises:
        InputError: if a chart does not fit its page.
    """
    return {character.name: chart(_chart_job(job, character)) for character in job.characters}


def _chart_job(job: SheetJob, character: SheetCharacter) -> ChartJob:
    return ChartJob(
        job.production,
        character.name,
        character.mouth_set,
        job.settings.page,
        character.art,
        job.dated,
        job.settings.words,
    )


def shot_packet(parts: ShotParts, charts: Mapping[str, Document]) -> Document:
    """Return a shot's packet; `charts` are those of its characters."""
    job = parts.revised.job
    title = job.settings.words.packet.format(shot=job.shot)
    return _numbered(joined(title, (parts.sheet, *charts.values(), *parts.after)), job.settings.words)


def scene_packet(scene: str, shots: Sequence[ShotParts], charts: Mapping[str, Document]) -> Document:
    """Return a scene's packet: contents, each character's chart, each shot.

    Args:
        scene: the scene's title.
        shots: its shots, at least one.
        charts: the charts of all its characters.
    """
    job = shots[0].revised.job
    whole = [_whole(parts) for parts in shots]
    told = [(document.title, "", document) for document in charts.values()]
    told += [(document.title, _facts(parts), document) for parts, document in zip(shots, whole, strict=True)]
    # Each part takes one line of the contents, whatever it says: so their pages can be counted beforehand.
    count = len(_contents(scene, job, [("", "", 0)] * len(told)))
    lines, at = [], count
    for title, facts, document in told:
        lines.append((title, facts, at + 1))
        at += len(document.pages)
    contents = Document(job.settings.words.contents, _contents(scene, job, lines))
    return _numbered(joined(scene, (contents, *charts.values(), *whole)), job.settings.words)


def _whole(parts: ShotParts) -> Document:
    """Return a shot as one part of a scene's packet: the sheet's bookmarks, then those of what follows it."""
    pages, bookmarks = list(parts.sheet.pages), list(parts.sheet.bookmarks)
    for document in parts.after:
        bookmarks.append(Bookmark(document.title, len(pages)))
        pages += document.pages
    return Document(parts.sheet.title, tuple(pages), tuple(bookmarks))


def _facts(parts: ShotParts) -> str:
    job, words = parts.revised.job, parts.revised.job.settings.words
    frames = words.shot_frames.format(frames=job.frames)
    return f"{frames}  ·  {words.revision.format(letter=job.revision)}  ·  {parts.revised.revision.state.stamp}"


def _doubts(revised: Revised, missing: Sequence[str]) -> tuple[Page, ...]:
    """Return the pages that list missing lines and doubtful words, with boxes to tick, and sounds that are lost."""
    job, state = revised.job, revised.revision.state
    words = job.settings.words
    entries = [Entry("", "", words.missing.format(line=line), tick=True) for line in missing]
    for row in (row for row in state.rows if row.frame not in job.filmed):
        place = words.at_frame.format(frame=row.number)
        for name, cell in zip(state.names, row.cells, strict=True):
            doubtful = [heard.text for heard in cell.begins if heard.doubtful]
            entries += [Entry(place, name, f"{words.doubtful}: “{text}”", tick=True) for text in doubtful]
    for notice in notices_of(job, state.rows):
        if notice.kind == "lost" and notice.row not in job.filmed:
            place = words.at_frame.format(frame=state.rows[notice.row].number)
            entries.append(Entry(place, notice.character, f"{words.not_seen}: {notice.full}"))
    if not entries:
        return ()
    return listing(job, state.stamp, words.doubts, entries, lambda n, of: words.doubts_page.format(page=n, pages=of))


def _contents(scene: str, job: SheetJob, lines: Sequence[tuple[str, str, int]]) -> tuple[Page, ...]:
    """Return the contents pages: for each part its title, its facts, and its first page in the packet."""
    form = form_of(job.settings.page, job.settings.orientation, "standard")
    words = job.settings.words
    top_mm = MARGIN_Y_MM + PACKET.top_mm
    each = int((form.height_mm - MARGIN_Y_MM - top_mm) / PACKET.line_mm)
    starts = range(0, max(1, len(lines)), each)
    pages = []
    for number, start in enumerate(starts, start=1):
        marks = [
            *_contents_head(scene, job, form.width_mm, words.contents_page.format(page=number, pages=len(starts)))
        ]
        for place, (title, facts, page) in enumerate(lines[start : start + each]):
            y_mm = top_mm + place * PACKET.line_mm
            marks += _contents_line(title, facts, words.at_page.format(page=page), form.width_mm, y_mm)
        pages.append(Page(form.width_mm, form.height_mm, tuple(marks)))
    return tuple(pages)


def _contents_head(scene: str, job: SheetJob, width_mm: float, page: str) -> Iterator[Mark]:
    right_mm, inner_mm = width_mm - MARGIN_X_MM, width_mm - 2 * MARGIN_X_MM
    text, size_pt = sized(scene, inner_mm * PACKET.scene_part, PACKET.scene_pt, bold=True)
    yield Text(MARGIN_X_MM, MARGIN_Y_MM + PACKET.scene_base_mm, text, size_pt, bold=True)
    text, size_pt = sized(page, inner_mm * PACKET.page_part, PACKET.page_pt, bold=True)
    yield Text(right_mm, MARGIN_Y_MM + PACKET.page_base_mm, text, size_pt, bold=True, align="right")
    text, size_pt = sized(job.production, inner_mm, PACKET.production_pt)
    yield Text(MARGIN_X_MM, MARGIN_Y_MM + PACKET.production_base_mm, text, size_pt)


def _contents_line(title: str, facts: str, page: str, width_mm: float, y_mm: float) -> Iterator[Mark]:
    right_mm, inner_mm = width_mm - MARGIN_X_MM, width_mm - 2 * MARGIN_X_MM
    text, size_pt = sized(title, PACKET.title_part * inner_mm, PACKET.line_pt, bold=True)
    yield Text(MARGIN_X_MM, y_mm, text, size_pt, bold=True)
    if facts:
        text, size_pt = sized(facts, PACKET.facts_part * inner_mm, PACKET.facts_pt)
        yield Text(MARGIN_X_MM + PACKET.facts_at * inner_mm, y_mm, text, size_pt)
    yield Text(right_mm, y_mm, page, PACKET.line_pt, align="right")
    yield row_rule(right_mm, y_mm + PACKET.rule_mm)


def _numbered(document: Document, words: Words) -> Document:
    """Return a document whose pages have their number in the packet, above their own heading."""
    pages = tuple(
        replace(page, marks=(*page.marks, _folio(words, number, len(document.pages), page.width_mm)))
        for number, page in enumerate(document.pages, start=1)
    )
    return Document(document.title, pages, document.bookmarks)


def _folio(words: Words, number: int, pages: int, width_mm: float) -> Text:
    said = words.packet_page.format(page=number, pages=pages)
    text, size_pt = sized(said, PACKET.folio_mm, PACKET.folio_pt, bold=True)
    return Text(width_mm - MARGIN_X_MM, MARGIN_Y_MM + PACKET.folio_base_mm, text, size_pt, bold=True, align="right")
