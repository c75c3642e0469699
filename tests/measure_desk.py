"""Measure the desk and the movies: how quick, how true to the sound, how hard to break.

    python tests/measure_desk.py [open] [list] [round] [sync] [ask] [drift]     all of them if none is named

Needs Chromium for the first four. What it prints is of the machine that it runs on.
"""

import os
import sys
import tempfile
import time
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import replace
from fractions import Fraction
from pathlib import Path
from typing import Any

sys.path.insert(0, str(Path(__file__).parent.parent))

from lipsync.app.hear.hearing import hear
from lipsync.breakdown import breakdown_file
from lipsync.production.loading import open_production
from lipsync.production.sample import put_sample
from tests.desk.conftest import CHROMIUM, FLAGS, Served, start, stop
from tests.desk.large import long_line, many_lines
from tests.desk.rounds import KINDS, drive, expected, found, plan

SECONDS, LINES, QUESTIONS, MINUTES = 180, 2000, 5000, 10
ROUND_LINES, DOUBTS, LISTENED_MS = 200, 120, 400


def heard_sample(folder: Path) -> Path:
    put_sample(folder)
    hear(open_production(folder))
    return folder


@contextmanager
def served(folder: Path) -> Iterator[Served]:
    desk = start(folder)
    try:
        desk.enter()
        yield desk
    finally:
        stop(desk)


@contextmanager
def window(desk: Served) -> Iterator[Any]:
    from playwright.sync_api import sync_playwright

    with sync_playwright() as driver:
        browser = driver.chromium.launch(executable_path=CHROMIUM, args=list(FLAGS))
        origin = {"origin": f"http://127.0.0.1:{desk.port}", "localStorage": [desk.kept_by_browser()]}
        window = {"viewport": {"width": 1280, "height": 860}, "storage_state": {"origins": [origin]}}
        context = browser.new_context(**window)
        page = context.new_page()
        page.set_default_timeout(60_000)
        page.goto(f"http://127.0.0.1:{desk.port}/")
        page.wait_for_selector("li")
        yield page
        browser.close()


# From asking for the line to the first picture of the screen with its rows, words and sound level.
OPEN = """async (id) => {
    const began = performance.now();
    location.hash = `#/line/${id}`;
    const ink = () => document.querySelector('frame-sheet')?.spectrum?.chunks.get(0)?.level;
    const shown = () => document.querySelector('frame-sheet .word') && ink();
    while (!shown()) await new Promise(requestAnimationFrame);
    await new Promise(requestAnimationFrame);
    const rows = performance.now() - began;
    while (!document.querySelector('.row .code:not(:empty)')) await new Promise(requestAnimationFrame);
    const pieces = performance.now() - began;
    while (!document.querySelector('.line-page').player.ready) await new Promise(requestAnimationFrame);
    return [rows, pieces, performance.now() - began];
}"""

# Moves a boundary in the middle of the line by a frame.
CHANGE = """async () => {
    const { editor, model } = document.querySelector('.line-page');
    const part = Math.floor(model.parts.length / 2);
    const began = performance.now();
    const [, latest] = model.room(part, 1);
    await editor.change({ kind: 'move-boundary', part, boundary: 1, to_us: latest });
    const saved = performance.now() - began;
    while (model.track?.version !== model.view.version) await new Promise(requestAnimationFrame);
    return [saved, performance.now() - began];
}"""

# Scrolls through all of the line, three rows for each picture of the screen, and says how long each took.
SCROLL = """async () => {
    const { scroller, height, rowPx } = document.querySelector('frame-sheet');
    const times = [];
    let before = await new Promise(requestAnimationFrame);
    for (let y = 0; y < height.offsetHeight; y += 3 * rowPx) {
        scroller.scrollTop = y;
        const now = await new Promise(requestAnimationFrame);
        times.push(now - before);
        before = now;
    }
    return times;
}"""

# Notes when every line is in the page, and when the screen has its picture; found out without asking the page again.
LISTED = """(count) => {
    const seen = new MutationObserver(() => {
        if (document.querySelectorAll('main li').length < count) return;
        seen.disconnect();
        window.listedMs = performance.now();
        requestAnimationFrame(() => setTimeout(() => { window.shownMs = performance.now(); }));
    });
    seen.observe(document, { childList: true, subtree: true });
}"""

# Scrolls through the whole list, a tenth of the window for each picture of the screen.
SCROLL_LIST = """async () => {
    const main = document.querySelector('main');
    const times = [];
    let before = await new Promise(requestAnimationFrame);
    for (let k = 0; k < 600; k += 1) {
        main.scrollTop += main.clientHeight / 10;
        const now = await new Promise(requestAnimationFrame);
        times.push(now - before);
        before = now;
    }
    return times;
}"""

# Plays for a minute, and compares the frame shown with the clock of the sound output.
SYNC = """async () => {
    const { player, sheet, model } = document.querySelector('.line-page');
    player.seek(0);
    await player.play(0);
    const off = [];
    while (player.playing && player.positionUs < 60_000_000) {
        await new Promise(requestAnimationFrame);
        await Promise.resolve();
        if (!player.playing) break;
        const { contextTime } = player.context.getOutputTimestamp();
        const heard = (contextTime - player.playing.began) * 1e6;
        if (heard > 0) off.push(sheet.frame - model.frameAt(heard));
    }
    player.stop();
    return off;
}"""


class Spent:
    """How long page and desk have worked since, apart from waiting: the same on a machine that others use too."""

    def __init__(self, page: Any, desk: Served) -> None:
        self._session = page.context.new_cdp_session(page)
        self._session.send("Performance.enable", {"timeDomain": "threadTicks"})
        self._desk = desk
        self._began = self._now()

    def _now(self) -> tuple[float, float]:
        metrics = {one["name"]: one["value"] for one in self._session.send("Performance.getMetrics")["metrics"]}
        fields = Path(f"/proc/{self._desk.process.pid}/stat").read_text("ascii").rpartition(")")[2].split()
        return metrics["TaskDuration"], (int(fields[11]) + int(fields[12])) / os.sysconf("SC_CLK_TCK")

    def __str__(self) -> str:
        page_s, desk_s = (now - then for now, then in zip(self._now(), self._began, strict=True))
        return f"the page worked {page_s * 1000:.0f} ms, the desk {desk_s * 1000:.0f} ms"


def measure_open(base: Path) -> None:
    with served(long_line(heard_sample(base / "sample"), base / "long", SECONDS)) as desk, window(desk) as page:
        rows, pieces, sound = page.evaluate(OPEN, "long")
        print(f"a line of {SECONDS} s: shown after {rows:.0f} ms, pieces {pieces:.0f} ms, sound {sound:.0f} ms")
        saved, pieces = page.evaluate(CHANGE)
        print(f"a boundary moved: saved and shown after {saved:.0f} ms, pieces after {pieces:.0f} ms")
        times = sorted(page.evaluate(SCROLL))
        most = times[int(0.95 * len(times))]
        print(f"scrolling: {len(times)} pictures, 95 % within {most:.1f} ms, longest {times[-1]:.1f} ms")


def measure_list(base: Path) -> None:
    with served(many_lines(heard_sample(base / "sample"), base / "many", LINES)) as desk, window(desk) as page:
        page.add_init_script(f"({LISTED})({LINES})")
        for when in ("the first time", "again"):
            spent = Spent(page, desk)
            page.goto(f"http://127.0.0.1:{desk.port}/?{when[-1]}", wait_until="commit")
            while not page.evaluate("window.shownMs"):
                time.sleep(0.2)
            listed, shown = page.evaluate("[window.listedMs, window.shownMs]")
            print(
                f"{page.locator('li').count()} lines listed {when} after {listed:.0f} ms, seen {shown:.0f}; {spent}"
            )
            began = time.perf_counter()
            while page.locator(".state[data-state=reading]").count():
                page.wait_for_timeout(100)
            if when != "again":
                print(f"all states read {time.perf_counter() - began:.1f} s later (once; they are remembered)")
        page.wait_for_timeout(5000)
        (path,) = desk.folder.rglob("breakdowns/*/l7.toml")
        breakdown_file.write(path, replace(breakdown_file.read(path), checked=True))
        began = time.perf_counter()
        page.wait_for_selector("li:has-text('l7') .state[data-state=checked]", state="attached")
        print(f"a line changed outside is shown after {time.perf_counter() - began:.2f} s")
        spent = Spent(page, desk)
        times = sorted(page.evaluate(SCROLL_LIST))
        most = times[int(0.95 * len(times))]
        print(f"scrolling the list: {len(times)} pictures, 95 % within {most:.1f} ms; {spent}, for all of them")


def measure_round(base: Path) -> None:
    folder = many_lines(heard_sample(base / "sample"), base / "round", ROUND_LINES)
    planned = plan(folder, DOUBTS, seed=11, kinds=KINDS)
    paths = sorted((folder / "breakdowns").rglob("*.toml"))
    before = {path: breakdown_file.read(path) for path in paths}
    production = open_production(folder)
    placed = [(line, shot) for scene in production.scenes for shot in scene.shots for line in shot.line]
    begins = {line.id: production.begins_us(line, shot) for line, shot in placed}
    with served(folder) as desk, window(desk) as page:
        page.wait_for_selector("li .state[data-state=doubts]")
        while page.locator(".state[data-state=reading]").count():
            page.wait_for_timeout(100)
        page.keyboard.press("Control+Enter")
        began = time.perf_counter()
        waits, keys = drive(page, planned, LISTENED_MS)
        took = time.perf_counter() - began
    kinds = {kind: sum(one.kind == kind for one in planned) for kind in keys}
    each = {kind: keys[kind] / count for kind, count in kinds.items()}
    print(f"{len(planned)} answers in {took:.0f} s: {kinds}; keys for each: {each}")
    late = sum(wait > 150 for wait in waits)
    waits.sort()
    median = waits[len(waits) // 2]
    print(f"from answer to next sound: median {median:.0f} ms, longest {waits[-1]:.0f} ms, {late} above 150 ms")
    wanted = expected(before, planned, production.rate, begins)
    wrong = [path.stem for path in paths if found(path, planned) != wanted[path]]
    print(f"corrections are {'exactly those' if not wrong else f'wrong in {wrong}'}")


def measure_sync(base: Path) -> None:
    with served(long_line(heard_sample(base / "sample"), base / "long", SECONDS)) as desk, window(desk) as page:
        page.evaluate(OPEN, "long")
        off = page.evaluate(SYNC)
        print(f"a minute of play: {len(off)} pictures; frames ahead of the sound's clock: {min(off)} to {max(off)}")


def measure_ask(base: Path) -> None:
    from tests.desk.test_fuzz import asked

    with served(heard_sample(base / "sample")) as desk:
        print(f"{QUESTIONS} questions: {dict(sorted(asked(desk, QUESTIONS, seed=7).items()))}")


def measure_drift(base: Path) -> None:
    from lipsync.preview.movie import movie_bytes
    from tests.preview.test_movie import flashes_and_clicks, flashing

    for form in ("mp4", "webm"):
        rate = Fraction(24000, 1001)
        frames = int(MINUTES * 60 * rate)
        flashes, clicks = flashes_and_clicks(movie_bytes(flashing(rate, frames, each=241), form))
        off = [float(flash - click) * 1000 for flash, click in zip(flashes, clicks, strict=True)]
        said = f"off by {min(off):.3f} to {max(off):.3f} ms, {off[-1]:.3f} at last"
        print(f"{form}: {len(off)} flashes in {MINUTES} min: {said}")


if __name__ == "__main__":
    names = sys.argv[1:] or ["open", "list", "round", "sync", "ask", "drift"]
    for name in names:
        with tempfile.TemporaryDirectory() as temporary:
            globals()[f"measure_{name}"](Path(temporary))
