"""What the desk says of lines is what the rest of the program says of them."""

import os
from dataclasses import replace
from pathlib import Path
from unittest.mock import AsyncMock, Mock

import pytest

from lipsync.app.hear.hearing import hear
from lipsync.app.plan.planning import plan
from lipsync.breakdown import breakdown_file
from lipsync.breakdown.breakdown_file import Computation
from lipsync.desk import bodies, outside
from lipsync.desk.app import _FirstOfAll
from lipsync.desk.desk import Desk
from lipsync.errors import InputError
from lipsync.production.loading import open_production

LINES = ("010-a", "010-b", "020-a", "020-b", "020-c", "030-a", "030-b", "040-a", "040-b", "040-c", "040-d")


def states(desk: Desk) -> dict[str, str | None]:
    return {
        row["id"]: row["state"]
        for scene in desk.lines()["scenes"]
        for shot in scene["shots"]
        for row in shot["lines"]
    }


def test_the_pieces_on_the_desk_are_those_of_the_printed_sheet(sample: Path) -> None:
    production = open_production(sample)
    plans = plan(production, hear(production))
    printed = {(one.shot.id, cast.character): cast.track for one in plans.shots for cast in one.cast}
    desk = Desk(sample)
    for line in LINES:
        view, track = desk.line(line), desk.track(line)
        expected = printed[view["shot"], view["character"]]
        assert track["pieces"] == list(expected.pieces)
        assert track["fitted"] == [fitting.frame for fitting in expected.fittings]
        assert track["version"] == view["version"]


def test_states_are_read_beside_the_rest_and_remembered(sample: Path) -> None:
    (sample / "breakdowns/01-lamp-room/020-c.toml").unlink()
    (sample / "breakdowns/01-lamp-room/020-b.toml").write_text("broken", encoding="utf-8")
    desk = Desk(sample)
    assert states(desk)["020-c"] == "not done"
    assert states(desk)["020-a"] is None  # nobody has read it yet
    said = desk.track("020-a")["messages"]  # needs the loudness of every line of the crab
    assert any("020-b.toml" in text for text in said)  # left out of the shot, and said
    assert states(desk)["020-a"] == "computed"
    version = desk.line("020-a")["version"]
    body = {"version": version, "change": {"kind": "set-checked", "checked": True}}
    desk.change("020-a", bodies.CHANGE_BODY.validate_python(body))
    assert states(desk)["020-a"] is None  # its file has changed
    with pytest.raises(InputError, match=r"020-b\.toml"):
        desk.line("020-b")
    desk.track("040-d")
    desk.close()
    again = Desk(sample)
    assert states(again)["020-a"] == "checked"
    file = sample / "breakdowns/01-lamp-room/020-a.toml"
    os.utime(file, ns=(1, 1))
    assert states(again)["020-a"] is None


def given_way(sample: Path, monkeypatch: pytest.MonkeyPatch, most_waited_s: float) -> dict[str, str | None]:
    """Return the states after half a second of a desk whose page asked for something long before."""
    monkeypatch.setattr(outside, "GIVES_WAY_S", 3600)
    monkeypatch.setattr(outside, "MOST_WAITED_S", most_waited_s)
    desk = Desk(sample)
    desk.give_way()
    desk.start_reading()
    desk._reader._thread.join(timeout=0.5)
    found = states(desk)
    desk.close()
    desk._reader._thread.join()  # it does not wait on
    return found


def test_no_state_is_read_while_a_page_waits(sample: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    assert set(given_way(sample, monkeypatch, most_waited_s=3600).values()) == {None}


def test_states_are_read_at_last_where_pages_ask_on_and_on(sample: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    assert given_way(sample, monkeypatch, most_waited_s=0)["010-a"] is not None


@pytest.mark.parametrize(
    ("path", "gives_way"), [("/api/lines", True), ("/static/main.js", True), ("/api/news", False)]
)
def test_the_desk_gives_way_to_who_waits_for_more_than_news(path: str, gives_way: bool) -> None:
    told = Mock()
    passed = AsyncMock()
    asked = _FirstOfAll(passed, told)({"path": path}, AsyncMock(), AsyncMock())
    with pytest.raises(StopIteration):  # it waits for nothing; and another loop of events may run here
        asked.send(None)
    assert told.give_way.called is gives_way
    assert passed.called


def test_a_line_that_was_not_done_is_listened_to_on_asking(sample: Path) -> None:
    file = sample / "breakdowns/01-lamp-room/020-c.toml"
    done = file.read_bytes()
    file.unlink()
    desk = Desk(sample)
    view = desk.line("020-c")
    assert (view["heard"], view["version"], view["undo"]) == (False, "", None)
    heard = desk.listen("020-c", "")
    assert heard["heard"]
    assert file.read_bytes() == done
    assert [part["text"] for part in heard["parts"]] == ["Oops", "My", "foot", "is", "blue"]


def test_listening_again_keeps_what_was_corrected(sample: Path) -> None:
    desk = Desk(sample)
    view = desk.line("020-c")
    end_us = view["parts"][0]["end_us"] - 20_000
    change = {"kind": "move-boundary", "part": 0, "boundary": len(view["parts"][0]["phonemes"]), "to_us": end_us}
    view = desk.change("020-c", bodies.CHANGE_BODY.validate_python({"version": view["version"], "change": change}))
    again = desk.listen("020-c", view["version"])
    assert again["parts"][0]["end_us"] == end_us
    assert again["corrections"] == view["corrections"] > 0


def test_a_newer_computation_that_waits_is_taken_and_can_be_undone(sample: Path) -> None:
    file = sample / "breakdowns/01-lamp-room/020-c.toml"
    kept = breakdown_file.read(file)

    newer = replace(kept.computed, parts=kept.computed.parts[:-1], text="Oops. My foot is.")
    waits = Computation(replace(kept.source, text=newer.text), newer, kept.engine)
    breakdown_file.write(file, replace(kept, checked=True, newer=waits))
    before = file.read_bytes()
    desk = Desk(sample)
    view = desk.line("020-c")
    assert view["newer"]
    body = {"version": view["version"], "change": {"kind": "take-newer"}}
    taken = desk.change("020-c", bodies.CHANGE_BODY.validate_python(body))
    assert [part["text"] for part in taken["parts"]] == ["Oops", "My", "foot", "is"]
    assert not taken["newer"]
    desk.go("020-c", taken["version"], -1)
    assert file.read_bytes() == before


def test_a_recording_that_was_exchanged_is_noticed(sample: Path) -> None:
    desk = Desk(sample)
    assert desk.fingerprint("020-c")["same"]
    (sample / "recordings/020-c.wav").write_bytes((sample / "recordings/020-a.wav").read_bytes())
    assert not desk.fingerprint("020-c")["same"]
    (sample / "recordings/020-c.wav").unlink()
    assert "does not exist" in desk.fingerprint("020-c")["reason"]
