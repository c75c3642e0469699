"""A shot printed from the desk: the same files as the commands write, how far it is, stopped, and who may see it."""

import shutil
import threading
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from lipsync.app.print.printing import Printed
from lipsync.desk import bodies
from lipsync.desk.desk import Desk
from lipsync.desk.print_runs import STOPPED, NoSuchRunError, PrintRuns
from lipsync.desk.print_work import PrintKind, PrintWanted
from lipsync.errors import InputError
from lipsync.message import Message, Where
from lipsync.report import Report
from tests.desk.conftest import Served
from tests.desk.paging import open_line
from tests.running import run

LINE, SHEET = "020-a", "sheets/01-lamp-room/020.pdf"


def wanted(shot: str, kind: PrintKind = PrintKind.SHEET) -> PrintWanted:
    return PrintWanted(kind, "01", shot)


class Press:
    """Stands for the printing itself: says where it is, and goes on when it is let."""

    def __init__(self) -> None:
        self.begun, self.go_on, self.printed = threading.Semaphore(0), threading.Semaphore(0), list[str]()

    def __call__(self, folder: Path, wanted: PrintWanted, progress: Any, workers: Any) -> Printed:
        progress("printing", 0, 2)
        self.begun.release()
        self.go_on.acquire()
        progress("printing", 1, 2)
        self.printed.append(wanted.shot)
        return Printed((folder / f"{wanted.shot}.pdf",), Report())


def over(runs: PrintRuns, number: int) -> dict[str, Any]:
    """Return a run once it is over."""
    for _ in range(6000):
        if (now := runs.look(number))["state"] not in ("waiting", "printing"):
            return now
        threading.Event().wait(0.01)
    raise AssertionError(f"never over: {now}")


def test_one_is_printed_after_the_other_and_each_is_stopped_when_asked(tmp_path: Path) -> None:
    press = Press()
    runs = PrintRuns(tmp_path, press)
    first, second, third = (runs.ask(wanted(shot))["run"] for shot in ("1", "2", "3"))
    press.begun.acquire()
    assert [(one["run"], one["state"]) for one in runs.all()["runs"]] == [
        (third, "waiting"), (second, "waiting"), (first, "printing")]  # fmt: skip
    now = runs.look(first)
    assert (now["what"], now["done"], now["total"]) == ("printing", 0, 2)
    assert runs.ask(wanted("1"))["run"] == first  # it is being done
    assert runs.stop(second)["state"] == "stopped"
    runs.stop(first)
    press.go_on.release()
    assert over(runs, first)["messages"] == [STOPPED]
    press.begun.acquire()
    assert runs.look(third)["state"] == "printing"
    assert runs.look(first)["seen"] != now["seen"]
    press.go_on.release()
    assert over(runs, third)["files"] == ["3.pdf"]
    assert press.printed == ["3"]
    with pytest.raises(InputError, match=r"3\.pdf.*cannot be read any more .*; print it again"):
        runs.file(third, 0)
    for ask in (lambda: runs.look(4), lambda: runs.stop(0), lambda: runs.file(third, 1)):
        with pytest.raises(NoSuchRunError):
            ask()


def test_what_is_to_be_known_while_it_is_printed_is_told_then_and_at_the_end(tmp_path: Path) -> None:
    begun, go_on = threading.Semaphore(0), threading.Semaphore(0)

    def press(folder: Path, _wanted: PrintWanted, _progress: Any, workers: Any) -> Printed:
        workers.tell(Message.of("another run", Where(str(folder))))
        begun.release()
        go_on.acquire()
        report = Report(messages=(Message.of("no shooting plan", Where(str(folder))),))
        return Printed((folder / "1.pdf",), report)

    runs = PrintRuns(tmp_path, press)
    number = runs.ask(wanted("1"))["run"]
    begun.acquire()
    (told,) = runs.look(number)["messages"]
    assert "another run is at work on it" in told
    go_on.release()
    first, last = over(runs, number)["messages"]
    assert (first, "shooting" in last) == (told, True)


def test_no_more_wait_than_are_printed_soon_and_none_is_begun_at_the_end(tmp_path: Path) -> None:
    press = Press()
    runs = PrintRuns(tmp_path, press)
    for shot in range(9):
        runs.ask(wanted(str(shot)))
    with pytest.raises(InputError, match="9 printings wait already; let them end, or stop some"):
        runs.ask(wanted("more"))
    press.begun.acquire()
    closing = threading.Thread(target=runs.close)
    closing.start()
    press.go_on.release()
    closing.join()
    assert over(runs, 1)["state"] == "stopped"
    assert press.printed == []


def printed(desk: Desk, kind: str) -> dict[str, Any]:
    body = bodies.PRINT_BODY.validate_python({"kind": kind})
    return over(desk.runs, desk.print(LINE, body)["run"])


def test_the_same_files_are_written_as_by_the_commands_and_the_same_is_said(sample: Path) -> None:
    filmed = sample / "filmed/01-lamp-room/020.toml"
    other = sample.parent / "other/low-tide-post"
    shutil.copytree(sample, other)
    desk = Desk(sample)
    sheet, charts = printed(desk, "sheet"), printed(desk, "chart")
    assert sheet["files"] == [SHEET]
    assert charts["files"] == ["sheets/chart-heron.pdf", "sheets/chart-crab.pdf"]
    assert run("sheet", other, "--shot", "020").code == 0
    assert run("chart", other).code == 0
    for file in (*sheet["files"], *charts["files"]):
        assert (sample / file).read_bytes() == (other / file).read_bytes(), file
    assert (sample / "prints/01-lamp-room/020.json").exists()

    filmed.parent.mkdir(parents=True)
    filmed.write_text('form = "no such form"\n', encoding="utf-8")
    refused, command = printed(desk, "sheet"), run("sheet", sample, "--shot", "020")
    assert command.code == 4
    assert refused["problems"]
    assert [*refused["messages"], *refused["problems"]] == command.err.splitlines()[:-1]
    assert (refused["state"], refused["files"]) == ("refused", [])
    desk.close()


def test_a_movie_that_is_stopped_leaves_nothing(sample: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    desk = Desk(sample)
    number = desk.print(LINE, bodies.PRINT_BODY.validate_python({"kind": "preview"}))["run"]
    while not desk.runs.look(number)["what"].startswith("filming"):
        threading.Event().wait(0.01)
    desk.runs.stop(number)
    assert over(desk.runs, number)["messages"] == [STOPPED]
    assert [path for path in sample.rglob("*") if path.suffix in (".mp4", ".part")] == []
    desk.close()


def test_what_is_printed_is_shown_by_key_to_none_but_who_was_let_in(desk: Served, opened: Callable[..., Any]) -> None:
    from axe_playwright_python.sync_playwright import Axe

    page = open_line(opened, desk)
    page.locator(".scroller").focus()
    with page.expect_response("**/files/0") as fetched:
        page.keyboard.press("Control+p")
    page.wait_for_selector("dialog.printed[open] iframe")
    assert fetched.value.body() == (desk.folder / SHEET).read_bytes()
    # It is in this page's memory: no path of the desk leads to it without the key.
    address = page.locator("dialog.printed iframe").get_attribute("src") or ""
    assert address.startswith(f"blob:http://127.0.0.1:{desk.port}/")
    assert Axe().run(page).response["violations"] == []
    page.keyboard.press("Escape")
    assert page.evaluate("document.activeElement.className") == "scroller"
    assert page.locator(".run").inner_text().startswith(f"sheet: printed: {SHEET}")

    page.get_by_role("button", name="Preview", exact=True).click()
    page.get_by_role("button", name="Stop printing the preview").click()
    page.locator(".run[data-state=stopped]").wait_for()
    assert Axe().run(page).response["violations"] == []
    assert not list(desk.folder.rglob("*.mp4"))

    for path in ("/api/runs", "/api/runs/1", "/api/runs/1/files/0"):
        assert desk.ask("GET", path).status == 200
        assert desk.ask("GET", path, authorization=None).status == 401
        assert desk.ask("GET", path, host="127.0.0.1:1").status == 421
    assert desk.ask("POST", f"/api/lines/{LINE}/print", {"kind": "sheet"}, authorization=None).status == 401
    assert desk.ask("POST", f"/api/lines/{LINE}/print", {"kind": "book"}).status == 422
    assert desk.ask("GET", "/api/runs/99").json() == {
        "error": "there is no such printing any more, or it has no such file; print it again"
    }
