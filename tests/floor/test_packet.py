"""Packets and the pages that tell what changed, read back from their PDFs."""

from __future__ import annotations

import re
from dataclasses import replace
from itertools import combinations
from pathlib import Path

import pypdfium2
import pytest

from lipsync.errors import ExitCode
from lipsync.floor.layout_board import Use, uses_of
from lipsync.floor.packet import charts_of, parts_of, scene_packet, shot_packet
from lipsync.floor.prints import Prints, Revision
from lipsync.floor.revising import Revised
from lipsync.floor.state import state_of
from lipsync.paper.cells import NOTHING, PartOn, as_shown
from lipsync.paper.sheet_job import SheetCharacter, SheetJob
from lipsync.paper.sheet_settings import SheetSettings
from lipsync.track import FrameTrack, PartWorn
from tests.fit.build import MOUTH_SETS
from tests.floor.build import planned, printed, production_of, the_plan
from tests.running import run


def ids(job: SheetJob) -> list[str]:
    return [f"c{index}" for index in range(len(job.characters))]


def revised(job: SheetJob, before: SheetJob | None = None, changed: frozenset[int] = frozenset()) -> Revised:
    """Return a sheet as a revision: the first, or the second after another sheet."""
    first = None if before is None else Revision("A", state_of(ids(before), before))
    letter = "A" if before is None else "B"
    state = state_of(ids(job), job)
    job = replace(job, revision=letter, changed=changed)
    return Revised(job, Revision(letter, state), first, Prints(job.shot), Path("x"), is_new=True, state=state)


@pytest.mark.parametrize("seed", range(10))
def test_no_text_of_a_packet_lies_outside_its_page_or_over_another(make_job, read, seed) -> None:
    job = make_job(seed, characters=1 + seed % 3, frames=(5, 30, 60)[seed % 3])
    # Few columns, so that three characters fit on any page.
    job = replace(
        job, settings=job.settings.model_copy(update={"columns": ("frame", "character"), "form": "standard"})
    )
    before = make_job(seed + 100, characters=1 + seed % 2, frames=40)
    parts = parts_of(revised(job, before), missing=("010-b",))
    charts = charts_of(replace(job, settings=job.settings.model_copy(update={"page": "A3"})))
    document = shot_packet(parts, charts)
    pages = read(document)
    assert len(pages) >= len(job.characters) + 3
    for number, (width, height, texts) in enumerate(pages, start=1):
        assert f"packet {number} of {len(pages)}" in [text.text for text in texts]
        for text in texts:
            assert text.left >= 3 and text.right <= width - 3, text  # noqa: PT018
            assert text.top >= 3 and text.bottom <= height - 3, text  # noqa: PT018
            assert text.size >= 7, text
        for a, b in combinations(texts, 2):
            apart = a.right <= b.left or b.right <= a.left or a.bottom <= b.top or b.bottom <= a.top
            assert apart, (a, b)


def test_a_packet_holds_its_parts_in_order_under_bookmarks(make_job, read) -> None:
    job = make_job(4, characters=2, frames=60)
    document = shot_packet(parts_of(revised(job), missing=("010-b",)), charts_of(job))
    tops = [(bookmark.title, bookmark.page) for bookmark in document.bookmarks if bookmark.depth == 0]
    titles = [title for title, _ in tops]
    assert titles == [
        f"shot {job.shot}",
        *(f"{character.name}: mouth chart" for character in job.characters),
        "Pieces to lay out, in order of use",
        "Doubtful: ask before filming",
    ]
    pages = read(document)
    for title, page in tops[-2:]:
        assert title in [text.text for text in pages[page][2]]
    doubts = " ".join(text.text for text in pages[tops[-1][1]][2])
    assert "line 010-b could not be done and is not on this sheet" in doubts


def test_every_doubt_of_frames_still_to_film_is_on_the_list(make_job, read) -> None:
    listed, doubtful = [], []
    for seed in range(8):
        job = replace(make_job(seed, characters=1, frames=96), filmed=frozenset(range(30)))
        pages = [texts for _, _, texts in read(shot_packet(parts_of(revised(job)), {}))]
        titled = [texts for texts in pages if any(text.text == "Doubtful: ask before filming" for text in texts)]
        begins = "doubtful: ask before filming: “"
        listed += [text.text for texts in titled for text in texts if text.text.startswith(begins)]
        rows = state_of(ids(job), job).rows[30:]
        doubtful += [heard.text for row in rows for heard in row.cells[0].begins if heard.doubtful]
    assert len(doubtful) > 5
    assert sorted(listed) == sorted(f"doubtful: ask before filming: “{text}”" for text in doubtful)


def test_pieces_are_in_the_order_of_use() -> None:
    pieces = ("REST", "REST", "OPEN1", None, "OPEN1", "SHUT", "REST", "OPEN1")
    track = FrameTrack("heron", pieces, (None,) * 8)
    character = SheetCharacter("Zoë Wade", MOUTH_SETS["tideline"], track)
    # Off camera the piece stays on: OPEN1 on frame 4 is not put on again.
    assert uses_of(character, frozenset()) == (
        Use("REST", 0, (0, 6)),
        Use("OPEN1", 2, (2, 7)),
        Use("SHUT", 5, (5,)),
    )
    # With frames 0 to 2 in the can, OPEN1 is on the puppet already, and is the first to lie on the board.
    assert uses_of(character, frozenset(range(3))) == (
        Use("OPEN1", 4, (7,)),
        Use("SHUT", 5, (5,)),
        Use("REST", 6, (6,)),
    )
    assert uses_of(character, frozenset(range(8))) == ()


def test_parts_listed_by_hand_are_laid_out_after_the_mouths() -> None:
    """Brows that are on from filmed frames, put on again later; a hand; and lids whose frames are all in the can."""
    parts = (
        PartWorn("brows", "BRUP", 1, 4),
        PartWorn("hand", "HND2", 3, 3),
        PartWorn("brows", "BRUP", 6, 7),
        PartWorn("lids", "LID1", 0, 2),
    )
    track = FrameTrack("heron", ("REST",) * 8, (None,) * 8)
    character = SheetCharacter("Zoë Wade", MOUTH_SETS["tideline"], track, parts=parts)
    assert uses_of(character, frozenset(range(3)))[1:] == (
        Use("BRUP", 3, (6,), "brows"),
        Use("HND2", 3, (3,), "hand"),
    )
    assert [use.code for use in uses_of(character, frozenset())] == ["REST", "LID1", "BRUP", "HND2"]
    assert uses_of(character, frozenset(range(5)))[1:] == (Use("BRUP", 6, (6,), "brows"),)


def test_a_part_that_was_listed_after_its_first_frames_were_filmed_is_put_on_at_the_first_to_film() -> None:
    parts = (PartWorn("head", "HD2", 1, 6), PartWorn("brows", "BRUP", 1, 6))
    track = FrameTrack("heron", ("REST",) * 8, (None,) * 8)
    brows, head = PartOn("brows", "BRUP", False), PartOn("head", "HD2", False)
    filmed = {frame: replace(NOTHING, piece="REST", parts=(brows,)) for frame in range(3)}
    character = SheetCharacter("Zoë Wade", MOUTH_SETS["tideline"], track, parts=parts, as_filmed=filmed)
    assert uses_of(character, frozenset(filmed))[1:] == (Use("BRUP", 3, (), "brows"), Use("HD2", 3, (3,), "head"))
    planned = [replace(NOTHING, piece="REST", parts=(brows, head))] * 8
    shown = as_shown(planned, filmed)
    assert [[part.put_on for part in cell.parts] for cell in shown[2:5]] == [[False], [False, True], [False, False]]


def test_the_board_says_which_piece_and_when(tmp_path, read) -> None:
    production = production_of(tmp_path)
    one = the_plan(planned(production))
    document = shot_packet(parts_of(printed(production, one)), {})
    (texts,) = [t for _, _, t in read(document) if any(x.text == "Pieces to lay out, in order of use" for x in t)]
    told = [text.text for text in texts]
    for cast in one.cast:
        for code in dict.fromkeys(cast.track.pieces):
            frames = ", ".join(str(f.frame + 1) for f in cast.track.fittings if f.code == code)
            assert code in told
            assert frames in told


def test_the_board_says_of_a_piece_that_is_on_from_a_filmed_frame_that_it_is_worn_already(make_job, read) -> None:
    job = make_job(1, characters=1, frames=8)
    first = job.characters[0]
    pieces = ("REST", "OPEN1", "OPEN1", "SHUT", "OPEN1", "REST", "REST", "REST")
    first = replace(first, track=FrameTrack("heron", pieces, (None,) * 8), sounds=(), modelling=(), beats=())
    job = replace(job, characters=(first,), first_frame=1, changed=frozenset(), filmed=frozenset({0, 1}))
    document = shot_packet(parts_of(revised(job)), {})
    (texts,) = [t for _, _, t in read(document) if any(x.text == "Pieces to lay out, in order of use" for x in t)]
    told = [text.text for text in texts]
    assert [told[told.index(code) + 1] for code in ("OPEN1", "SHUT", "REST")] == ["worn already, 5", "4", "6"]


def test_frames_on_which_a_piece_is_put_on_go_on_in_a_second_line(make_job, read) -> None:
    job = make_job(1, characters=1, frames=40, settings=SheetSettings())
    track = FrameTrack("heron", ("REST", "SHUT") * 20, (None,) * 40)
    first = replace(job.characters[0], track=track, sounds=(), modelling=(), beats=())
    job = replace(job, characters=(first,), first_frame=101, changed=frozenset(), filmed=frozenset())
    pages = read(shot_packet(parts_of(revised(job)), {}))
    (texts,) = [t for _, _, t in pages if any(x.text == "Pieces to lay out, in order of use" for x in t)]
    told = " ".join(text.text for text in texts)
    assert ", ".join(map(str, range(101, 141, 2))) in told
    assert ", ".join(map(str, range(102, 141, 2))) in told


@pytest.mark.parametrize("shots", [1, 3, 70])
def test_the_contents_of_a_scene_name_the_page_of_each_part(make_job, read, shots) -> None:
    jobs = [replace(make_job(number % 5, characters=1, frames=5), shot=f"{number:03}") for number in range(shots)]
    settings = jobs[0].settings
    jobs = [replace(job, settings=settings) for job in jobs]
    parts = [parts_of(revised(job)) for job in jobs]
    charts = charts_of(jobs[0])
    document = scene_packet("The post office", parts, charts)
    pages = [texts for _, _, texts in read(document)]
    tops = {bookmark.title: bookmark.page for bookmark in document.bookmarks if bookmark.depth == 0}
    assert len(tops) == 1 + len(charts) + shots
    lines = [texts for texts in pages if any(re.match(r"contents \d", text.text) for text in texts)]
    said = {}
    for texts in lines:
        for a, b in zip(texts, [*texts[1:], None], strict=True):
            if a.text in tops and a.text != "contents":
                following = next(t for t in texts if t.baseline == a.baseline and re.fullmatch(r"page \d+", t.text))
                said[a.text] = int(following.text.removeprefix("page "))
            del b
    assert said == {title: page + 1 for title, page in tops.items() if title != "contents"}
    for title, page in said.items():
        if title.startswith("shot "):
            assert title in [text.text for text in pages[page - 1]]


def test_the_command_writes_a_file_for_each_shot_and_each_scene(sample: Path) -> None:
    packed = run("packet", sample, "--scene", "01-lamp-room")
    assert packed.code == ExitCode.DONE
    names = [Path(line).relative_to(sample).as_posix() for line in packed.out.splitlines()]
    assert names == [f"packets/01-lamp-room/{shot}.pdf" for shot in ("010", "020")] + ["packets/01-lamp-room.pdf"]
    first = (sample / names[0]).read_bytes()
    contents = [bookmark.get_title() for bookmark in pypdfium2.PdfDocument(sample / names[2]).get_toc(max_depth=1)]
    assert contents[0] == "contents"
    assert [title for title in contents if title.startswith("shot ")] == ["shot 010", "shot 020"]
    # A packet is a print: its stamp is known, and the same state gives the same bytes.
    assert (sample / "prints/01-lamp-room/010.json").exists()
    alone = run("packet", sample, "--shot", "010", "--out", sample / "other")
    assert alone.out == f"{sample}/other/01-lamp-room/010.pdf\n"
    assert (sample / "other/01-lamp-room/010.pdf").read_bytes() == first
