"""What the page says when something goes wrong: two windows, other programs, a killed desk, a full disk."""

import socket
from collections.abc import Callable
from pathlib import Path
from typing import Any

from tests.desk.conftest import Served
from tests.desk.paging import LINE, kept, open_line, saved, version_of


def test_two_windows_on_one_line_are_told_and_nothing_is_overwritten(
    desk: Served, opened: Callable[..., Any]
) -> None:
    one, two = open_line(opened, desk), open_line(opened, desk)
    # The second window does not look by itself here: it finds out because its change is refused.
    two.evaluate("document.querySelector('.line-page').editor.close()")
    for page in (one, two):
        page.locator(".scroller").focus()
        page.keyboard.press("ArrowRight")
        page.keyboard.press("b")
    saved(one, lambda: one.keyboard.press("Alt+ArrowDown"))
    first = kept(desk.folder)
    two.keyboard.press("Alt+ArrowUp")
    two.wait_for_selector("dialog.conflict[open]")
    assert kept(desk.folder) == first
    shown = two.locator("dialog.conflict").inner_text()
    assert "seen here" in shown
    assert "stands now" in shown
    saved(two, two.get_by_role("button", name="Show what stands").click)
    assert version_of(two) == version_of(one)
    opened.faults[:] = [fault for fault in opened.faults if "409" not in fault]  # type: ignore[attr-defined]


def checked_by_hand(desk: Served, *, checked: bool) -> None:
    file = desk.folder / "breakdowns/01-lamp-room" / f"{LINE}.toml"
    was, now = f"checked = {str(not checked).lower()}", f"checked = {str(checked).lower()}"
    file.write_text(file.read_text(encoding="utf-8").replace(was, now), encoding="utf-8")


def test_an_edit_by_hand_while_the_line_is_open_is_shown_by_itself(desk: Served, opened: Callable[..., Any]) -> None:
    page = open_line(opened, desk)
    saved(page, lambda: checked_by_hand(desk, checked=True))
    assert page.get_by_label("checked as it stands").is_checked()
    assert "was changed outside this window" in page.locator("#banner").inner_text()
    # And it is a step that can be undone.
    assert page.get_by_role("button", name="undo: changed outside the desk").is_enabled()


def test_an_edit_by_hand_takes_nothing_from_what_is_being_typed(desk: Served, opened: Callable[..., Any]) -> None:
    page = open_line(opened, desk)
    page.locator(".scroller").focus()
    page.keyboard.press("ArrowRight")
    page.get_by_label("write").fill("Goad")
    checked_by_hand(desk, checked=True)
    page.wait_for_selector("dialog.conflict[open]")
    page.get_by_role("button", name="Look at mine a little longer").click()
    assert page.get_by_label("write").input_value() == "Goad"
    assert not page.get_by_label("checked").is_checked()


def test_a_text_that_is_changed_in_the_scenes_file_is_shown_by_itself(
    desk: Served, opened: Callable[..., Any]
) -> None:
    page = open_line(opened, desk)
    scene = desk.folder / "scenes/01-lamp-room.toml"
    scene.write_text(scene.read_text(encoding="utf-8").replace("Good evening, Miss", "Good night, Miss"), "utf-8")
    page.locator(".said", has_text="Good night, Miss Wade!").wait_for()


def test_a_change_that_a_killed_desk_did_not_answer_is_sent_to_the_next_one(
    sample: Path, serve: Callable[..., Served], opened: Callable[..., Any]
) -> None:
    with socket.socket() as free:
        free.bind(("127.0.0.1", 0))
        port = free.getsockname()[1]
    desk = serve(sample, "--port", str(port))
    desk.enter()
    page = open_line(opened, desk)
    desk.process.kill()
    desk.process.communicate()
    page.locator(".scroller").focus()
    page.keyboard.press("ArrowRight")
    page.keyboard.press("r")
    page.get_by_text("Not saved: confirm part. The desk does not answer.", exact=False).wait_for()
    assert "corrected" not in kept(sample)
    again = serve(sample, "--port", str(port))
    assert again.port == port
    # The address of the new start is opened in another window of the same browser, which tells this one.
    page.get_by_role("button", name="Try again").click()
    page.get_by_text("Not saved: confirm part. this browser has not been let in", exact=False).wait_for()
    other = page.context.new_page()
    other.goto(again.address)
    other.wait_for_selector("li")
    other.close()
    saved(page, page.get_by_role("button", name="Try again").click)
    assert [correction["parts"][0]["word"] for correction in kept(sample)["corrected"]] == ["Good"]
    opened.faults[:] = [f for f in opened.faults if "ERR_" not in f and "401" not in f]  # type: ignore[attr-defined]


# A desk whose disk is full as long as there is a file FULL beside its production.
FULL_DISK = """
import errno, os, sys
from pathlib import Path
sync, full = os.fsync, Path(sys.argv[2]).with_name("FULL")
def fsync(file):
    if full.exists():
        raise OSError(errno.ENOSPC, os.strerror(errno.ENOSPC))
    sync(file)
os.fsync = fsync
from lipsync.app.cli import main
sys.exit(main())
"""


def test_a_change_for_which_the_disk_is_full_is_kept_until_it_is_not(
    sample: Path, serve: Callable[..., Served], opened: Callable[..., Any]
) -> None:
    desk = serve(sample, program=("-c", FULL_DISK))
    desk.enter()
    page = open_line(opened, desk)
    full = sample.with_name("FULL")
    full.touch()
    page.locator(".scroller").focus()
    page.keyboard.press("ArrowRight")
    page.keyboard.press("r")
    page.get_by_text("Not saved: confirm part. ", exact=False).wait_for()
    assert "the disk is full; free some space" in page.locator("#banner").inner_text()
    # Another one is not made over it, and none is forgotten in silence.
    page.keyboard.press("ArrowRight")
    page.keyboard.press("r")
    page.get_by_text("Not saved: confirm part. The change after it was not made either.").wait_for()
    page.get_by_role("button", name="Try again").click()
    page.locator("#banner", has_text="the disk is full; free some space").wait_for()
    assert "corrected" not in kept(sample)

    # The page is closed and opened again: it is still there, and the list says so.
    page.goto(f"http://127.0.0.1:{desk.port}/")
    page.wait_for_selector("li")
    assert "a change is not saved" in str(page.locator("li", has_text=LINE).text_content())
    page.get_by_text("Good evening, Miss Wade!").click()
    page.get_by_text("It was not saved when this line was last open").wait_for()
    full.unlink()
    saved(page, page.get_by_role("button", name="Try again").click)
    assert [correction["parts"][0]["word"] for correction in kept(sample)["corrected"]] == ["Good"]
    assert page.locator("#banner").is_hidden()
    page.reload()
    page.wait_for_selector("frame-sheet .row")
    assert page.locator("#banner").is_hidden()
    opened.faults[:] = [fault for fault in opened.faults if "507" not in fault]  # type: ignore[attr-defined]


def test_a_production_that_is_moved_away_while_a_line_is_open_is_missed_and_nothing_is_lost(
    desk: Served, opened: Callable[..., Any]
) -> None:
    page = open_line(opened, desk)
    away = desk.folder.with_name("elsewhere")
    desk.folder.rename(away)
    page.locator(".scroller").focus()
    page.keyboard.press("ArrowRight")
    page.keyboard.press("r")
    page.get_by_text("Not saved: confirm part.", exact=False).wait_for()
    assert "the production is not there any more; put it back" in page.locator("#banner").inner_text()
    assert not desk.folder.exists()
    away.rename(desk.folder)
    saved(page, page.get_by_role("button", name="Try again").click)
    assert [correction["parts"][0]["word"] for correction in kept(desk.folder)["corrected"]] == ["Good"]
    opened.faults[:] = [fault for fault in opened.faults if "503" not in fault]  # type: ignore[attr-defined]
