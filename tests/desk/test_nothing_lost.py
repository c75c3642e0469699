"""Nothing is lost: undo without end, also after the desk's end; full disks, other programs, killed processes."""

import errno
import os
import signal
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest

import lipsync.files
from lipsync.align import line
from lipsync.app.hear import hearing
from lipsync.app.hear.heard import Only, lines_of
from lipsync.breakdown import breakdown_file
from lipsync.desk.history import History, version_of
from lipsync.desk.store import LineStore, StaleError
from lipsync.errors import InputError, OutputError
from lipsync.production.loading import open_production
from tests.desk.conftest import Served

LINE = "breakdowns/01-lamp-room/020-a.toml"


@pytest.fixture
def store(sample: Path) -> LineStore:
    return LineStore(sample / LINE, sample / ".desk/steps/020-a")


def with_note(note: str) -> Callable:
    def change(kept: breakdown_file.Kept) -> tuple[breakdown_file.Kept, str]:
        wanted = kept.breakdown
        first, *rest = wanted.parts
        return kept.corrected_to(replace(wanted, parts=(replace(first, text=note, corrected=True), *rest))), note

    return change


def text(store: LineStore) -> str:
    kept = store.stand().kept
    assert kept is not None
    return kept.breakdown.words[0].text


def test_undo_and_redo_go_through_every_state_and_back(store: LineStore) -> None:
    original = store.path.read_bytes()
    names = [f"w{i}" for i in range(40)]
    for name in names:
        store.change(store.stand().version, with_note(name))
    for name in reversed(names):
        assert text(store) == name
        store.go(store.stand().version, -1)
    assert store.path.read_bytes() == original
    assert store.stand().undo is None
    for name in names:
        store.go(store.stand().version, 1)
        assert text(store) == name
    assert store.stand().redo is None


def test_steps_outlive_the_desk(store: LineStore) -> None:
    for name in ("one", "two", "three"):
        store.change(store.stand().version, with_note(name))
    store.go(store.stand().version, -1)
    again = LineStore(store.path, store._history.folder)
    assert text(again) == "two"
    again.go(again.stand().version, 1)
    assert text(again) == "three"
    for expected in ("two", "one", "Good"):
        again.go(again.stand().version, -1)
        assert text(again) == expected


def test_what_was_undone_before_a_new_change_can_still_be_reached(store: LineStore) -> None:
    for name in ("one", "two"):
        store.change(store.stand().version, with_note(name))
    store.go(store.stand().version, -1)
    store.change(store.stand().version, with_note("three"))
    seen = []
    while store.stand().undo:
        store.go(store.stand().version, -1)
        seen.append(text(store))
    assert seen == ["one", "two", "one", "Good"]


def test_another_programs_change_is_a_step_like_any_other(store: LineStore) -> None:
    store.change(store.stand().version, with_note("mine"))
    before = store.path.read_bytes()
    theirs = before.replace(b"checked = false", b"checked = true")
    store.path.write_bytes(theirs)
    with pytest.raises(StaleError):
        store.change(version_of(before), with_note("over it"))
    assert store.path.read_bytes() == theirs
    stood = store.stand()
    assert stood.undo is not None
    assert stood.undo.what == "changed outside the desk"
    store.go(stood.version, -1)
    assert store.path.read_bytes() == before


def test_an_edit_in_the_last_moment_before_writing_is_seen(store: LineStore, monkeypatch: pytest.MonkeyPatch) -> None:
    """An editor that asks nobody saves while the new file is already on the disk under its hidden name."""
    version = store.stand().version
    theirs = store.path.read_bytes().replace(b"checked = false", b"checked = true")
    sync = os.fsync

    def saves_meanwhile(file: int) -> None:
        sync(file)
        store.path.write_bytes(theirs)

    monkeypatch.setattr(lipsync.files.os, "fsync", saves_meanwhile)
    with pytest.raises(StaleError) as told:
        store.change(version, with_note("mine"))
    assert store.path.read_bytes() == theirs
    assert told.value.stood.version == version_of(theirs)
    assert sorted(path.suffix for path in store.path.parent.iterdir()) == [".toml"] * 5  # nothing is left behind


def test_a_correction_made_while_the_command_line_listens_is_kept(
    sample: Path, store: LineStore, monkeypatch: pytest.MonkeyPatch
) -> None:
    listen_to = line.listen_to

    def corrected_meanwhile(*arguments: Any) -> Any:
        computed = listen_to(*arguments)
        store.change(store.stand().version, with_note("mine"))
        return computed

    monkeypatch.setattr(line, "listen_to", corrected_meanwhile)
    production = open_production(sample)
    (placed,) = (one for one in lines_of(production, Only()) if one.line.id == "020-a")
    heard, _ = hearing.Listening(production).line(placed, again=True)
    assert heard.kept.breakdown.words[0].text == text(store) == "mine"


def test_two_desks_on_one_line_share_their_steps(store: LineStore) -> None:
    other = LineStore(store.path, store._history.folder)
    store.change(store.stand().version, with_note("one"))
    assert text(other) == "one"
    other.change(other.stand().version, with_note("two"))
    other.change(other.stand().version, with_note("three"))
    with pytest.raises(StaleError):
        store.change(version_of(b""), with_note("over it"))
    seen = [text(store)]
    while store.stand().undo:
        store.go(store.stand().version, -1)
        seen.append(text(store))
    assert seen == ["three", "two", "one", "Good"]


def test_a_full_disk_leaves_the_line_as_it_was_and_says_so(store: LineStore, monkeypatch: pytest.MonkeyPatch) -> None:
    store.change(store.stand().version, with_note("one"))
    before = store.path.read_bytes()

    def full(_: int) -> None:
        raise OSError(errno.ENOSPC, os.strerror(errno.ENOSPC))

    monkeypatch.setattr(lipsync.files.os, "fsync", full)
    with pytest.raises(OutputError, match="the disk is full; free some space"):
        store.change(store.stand().version, with_note("two"))
    assert store.path.read_bytes() == before
    assert text(store) == "one"
    monkeypatch.undo()
    store.change(store.stand().version, with_note("two"))
    assert text(store) == "two"


def test_steps_that_cannot_be_written_hold_up_no_change(store: LineStore) -> None:
    (store.path.parents[2] / ".desk").write_text("a file stands where the folder should be")
    stood = store.change(store.stand().version, with_note("one"))
    assert "a file stands where a folder is needed" in stood.unsaved
    assert stood.undo is not None
    store.go(stood.version, -1)
    assert text(store) == "Good"


def test_damaged_steps_are_not_believed(store: LineStore) -> None:
    for name in ("one", "two"):
        store.change(store.stand().version, with_note(name))
    folder = store._history.folder
    for state in folder.glob("*.z"):
        state.write_bytes(b"no state")
    again = LineStore(store.path, folder)
    before = again.path.read_bytes()
    with pytest.raises(InputError, match="does not hold that state any more"):
        again.go(again.stand().version, -1)
    assert again.path.read_bytes() == before
    (folder / "steps.json").write_text("{")
    assert History(folder).steps.steps == ()


def test_a_line_that_was_only_looked_at_leaves_nothing_behind(store: LineStore) -> None:
    store.stand()
    assert not (store.path.parents[2] / ".desk").exists()


def test_a_killed_desk_has_lost_nothing_that_it_said_was_done(sample: Path, serve: Callable[..., Served]) -> None:
    desk = serve(sample)
    desk.enter()
    version = desk.line("020-a")["version"]
    done = desk.change("020-a", version, kind="confirm-part", part=0).json()
    desk.process.send_signal(signal.SIGKILL)
    desk.process.wait(20)
    again = serve(sample)
    again.enter()
    line = again.line("020-a")
    assert line["version"] == done["version"] == version_of((sample / LINE).read_bytes())
    assert line["undo"] == 'confirm part "Good"'
    undone = again.ask("POST", "/api/lines/020-a/undo", {"version": line["version"]}).json()
    assert undone["version"] == version
