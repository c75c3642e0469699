"""What does not match is told wherever it is shown: on each page, in the packet, as text, as data, in the count."""

import json
import shutil
from pathlib import Path

import pytest
from pypdf import PdfReader

from lipsync.app.answers import BreakdownAnswer, answer_text
from lipsync.app.hear.heard import Only
from lipsync.app.order.counts import count_pieces, countable, write_count
from lipsync.app.plan.planning import Plans
from lipsync.app.print.packing import write_packets
from lipsync.app.print.printing import sheet_job, write_sheets
from lipsync.app.print.tracking import track_texts
from lipsync.app.records import line_record, voice_records
from lipsync.app.renew.renewing import hear_and_plan
from lipsync.model import UntoldVoice
from lipsync.paper.rows import rows_of
from lipsync.paper.track_data import json_of
from lipsync.production.loading import open_production
from lipsync.production.values import Production
from tests.app.conftest import Listener

FOOT = "Oops. My foot is blue."  # 020-c, which begins with frame 140 of shot 020
REJECTED = "ask before filming: sound and text of 020-c do not match; all of it is doubtful"
# 500 ms to 750 ms after its beginning at 5.791667 s: 151 to 157 of frames counted from 1, at 24 a second (by hand).
UNTOLD = "ask before filming: voice without text is heard on frames 152 to 157"


@pytest.fixture
def planned(sample: Path, listener: Listener) -> tuple[Production, Plans]:
    shutil.rmtree(sample / "breakdowns")
    (sample / "voices.toml").unlink()
    listener.rejected = {FOOT}
    listener.untold = {FOOT: (UntoldVoice(500_000, 750_000),)}
    production = open_production(sample)
    return production, hear_and_plan(production, Only("01-lamp-room"))


def pages(path: Path) -> list[str]:
    return [" ".join(page.extract_text().split()) for page in PdfReader(path).pages]


def test_every_page_of_the_shot_says_so_and_no_page_of_another(planned) -> None:
    production, plans = planned
    printed = write_sheets(production, plans)
    assert printed.report.problems == ()
    other, shot = printed.paths
    assert all(REJECTED in text and UNTOLD in text for text in pages(shot))
    assert not any("do not match" in text or "without text" in text for text in pages(other))


def test_the_packet_and_the_count_say_so(planned) -> None:
    production, plans = planned
    packets = write_packets(production, plans, scenes=False)
    texts = pages(packets.paths[1])
    assert REJECTED in texts[0]
    assert any("“(no text)”" in text for text in texts)
    shots = countable(production, plans.tracked)
    pdf, _ = write_count(production, shots, count_pieces(production, shots)).paths
    assert f"020: {REJECTED}" in pages(pdf)[0]


def test_rows_have_it_at_its_frames_as_a_doubt_and_no_word(planned) -> None:
    production, plans = planned
    shot = plans.shots[1]
    job = sheet_job(production, shot, {cast.character: {} for cast in shot.cast})
    found = [
        (heard.first, heard.last, heard.text, heard.doubtful)
        for row in rows_of(job)
        for cell in row.cells
        for heard in cell.begins
        if heard.kind == "untold"
    ]
    assert found == [(151, 156, "(no text)", True)]
    (text,) = (text for text in track_texts(production, plans)[0] if "(no text)" in text)
    assert "? (no text)" in text
    rows = json.loads(json_of(job))["characters"][1]["frames"]
    assert all("(no text)" not in row["words"] for row in rows)
    assert rows[151]["doubtful"]


def test_a_checked_line_is_told_of_no_more(planned) -> None:
    production, _ = planned
    path = production.folder / "breakdowns/01-lamp-room/020-c.toml"
    path.write_text(path.read_text(encoding="utf-8").replace("checked = false", "checked = true"), encoding="utf-8")
    plans = hear_and_plan(production, Only(None, "020"))
    (text,) = pages(write_sheets(production, plans).paths[0])[:1]
    assert "do not match" not in text
    assert "without text" not in text
    assert not any(sound.doubtful for cast in plans.shots[0].cast for sound in cast.sounds if sound.line == "020-c")


def test_the_answer_for_programs_says_so(planned) -> None:
    production, plans = planned
    lines = [line_record(line) for line in plans.shots[1].asked.lines]
    record = {"lines": lines, "voices": voice_records(production), "files": []}
    told = json.loads(answer_text(BreakdownAnswer, record, plans.report))
    (line,) = (line for line in told["lines"] if line["line"] == "020-c")
    assert line["rejection"] == "not said"
    assert line["voice_without_text"] == [{"start_s": 0.5, "end_s": 0.75}]
    assert {one["character"]: one["set_by"] for one in told["voices"]} == {"heron": "lines", "crab": "lines"}
    assert told["not_done"] == []
    assert "all doubtful" in [one["kind"] for one in told["messages"] if one["line"] == "020-c"]
