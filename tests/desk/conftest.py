"""The desk as its users meet it: a process of its own, and a real browser that opens it."""

import http.client
import json
import os
import re
import shutil
import subprocess
import sys
import threading
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import pytest

from lipsync.desk import server
from lipsync.desk.app import app_of
from lipsync.desk.connections import Connections, server_of
from lipsync.desk.desk import Desk
from lipsync.desk.guard import Guard
from lipsync.desk.letting_in import Pass
from lipsync.desk.server import DeskAddress
from tests.running import copy_of

CHROMIUM = shutil.which("chromium") or shutil.which("chromium-browser") or shutil.which("google-chrome")

# No sandbox, for tests run as root; nothing is fetched in the background, for machines without a network.
FLAGS = (
    "--no-sandbox",
    "--disable-gpu",
    "--disable-quic",
    "--no-first-run",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
)


@dataclass
class Served:
    """A desk that is being served, and the production on it."""

    folder: Path
    process: subprocess.Popen[str]
    port: int
    address: str
    said: list[str]
    key: str = ""
    proof: str = ""

    @property
    def token(self) -> str:
        """What the one-time address holds."""
        return self.address.rpartition("/")[2]

    def enter(self) -> None:
        """Spend the token as the page does, and keep what is given for it."""
        answer = self.ask("POST", "/api/open", {"token": self.token}, authorization=None)
        assert answer.status == 200
        self.key, self.proof = answer.json()["key"], answer.json()["proof"]

    def kept_by_browser(self) -> dict[str, str]:
        """What the page of a browser that was let in has stored."""
        return {"name": "lipsync desk: let in", "value": json.dumps({"key": self.key, "proof": self.proof})}

    def ask(self, method: str, path: str, body: Any = None, **settings: Any) -> "Answer":
        """Ask as the desk's own page would; `settings` are other headers, None leaves one out."""
        headers = {"host": f"127.0.0.1:{self.port}", "authorization": f"Bearer {self.key}" if self.key else None}
        if method != "GET":
            headers |= {"origin": f"http://127.0.0.1:{self.port}", "content-type": "application/json"}
        headers |= {name.replace("_", "-"): value for name, value in settings.items()}
        sent = body if isinstance(body, bytes) or body is None else json.dumps(body).encode()
        line = http.client.HTTPConnection("127.0.0.1", self.port, timeout=60)
        try:
            line.putrequest(method, path, skip_host=True, skip_accept_encoding=True)
            if sent is not None:
                headers.setdefault("content-length", str(len(sent)))
            for name, value in headers.items():
                if value is not None and value != "":
                    line.putheader(name, value)
            line.endheaders(sent)
            answer = line.getresponse()
            return Answer(answer.status, {k.lower(): v for k, v in answer.getheaders()}, answer.read())
        finally:
            line.close()

    def line(self, id: str) -> dict[str, Any]:
        """Return a line as the desk says it stands."""
        return self.ask("GET", f"/api/lines/{id}").json()

    def change(self, id: str, version: str, **change: Any) -> "Answer":
        """Ask for a change."""
        return self.ask("POST", f"/api/lines/{id}/changes", {"version": version, "change": change})


@dataclass
class Answer:
    """What the desk answered."""

    status: int
    headers: dict[str, str]
    body: bytes

    def json(self) -> Any:
        return json.loads(self.body)


def start(folder: Path, *options: str, program: tuple[str, ...] = ("-m", "lipsync"), **settings: Any) -> Served:
    """Start a desk in a process of its own."""
    command = [sys.executable, *program, "desk", str(folder), "--no-browser", *options]
    process = subprocess.Popen(command, stderr=subprocess.PIPE, text=True, encoding="utf-8", **settings)
    assert process.stderr is not None
    said: list[str] = []
    while True:
        text = process.stderr.readline()
        said.append(text.rstrip("\n"))
        if not text:
            process.communicate()
            raise AssertionError(f"the desk ended before it was served: {said}")
        if found := re.search(r"http://\S+:(\d+)/#/open/\S+", text):
            return Served(folder, process, int(found[1]), found[0], said)


def stop(served: Served) -> None:
    served.process.terminate()
    served.process.communicate(timeout=60)


class ServedHere(Served):
    """A desk that a thread of this process serves: all of it is the desk's own but how it is started and ended."""

    def __init__(self, folder: Path) -> None:
        place = DeskAddress()
        self.listening, port = server._taken(place, str)
        way_in = Pass(server._hosts(place.address, self.listening), lambda _token: None)
        address = server._address(server.LOOPBACK, port, way_in.token)
        super().__init__(folder, None, port, address, [])  # type: ignore[arg-type]
        self.desk, connections = Desk(folder), Connections()
        self.desk.start_reading()
        self.server = server_of(Guard(app_of(self.desk), way_in, connections.let_in), connections)
        self.thread = threading.Thread(target=self.server.run, kwargs={"sockets": [self.listening]})
        self.thread.start()
        self.enter()

    def end(self) -> None:
        self.server.should_exit = True
        self.thread.join()
        self.desk.close()
        self.listening.close()


@pytest.fixture
def serve() -> Iterator[Callable[..., Served]]:
    """Return a function that starts a desk; it is stopped at the end."""
    started: list[Served] = []

    def begin(folder: Path, *options: str, **settings: Any) -> Served:
        started.append(start(folder, *options, **settings))
        return started[-1]

    yield begin
    for one in started:
        stop(one)


@pytest.fixture
def serve_here() -> Iterator[Callable[[Path], Served]]:
    """Return a function that serves a desk from this process, entered: far sooner than a process is started."""
    started: list[ServedHere] = []

    def begin(folder: Path) -> Served:
        started.append(ServedHere(folder))
        return started[-1]

    yield begin
    for one in started:
        one.end()


@pytest.fixture(scope="module")
def to_look_at(heard_sample: Path, tmp_path_factory: pytest.TempPathFactory) -> Iterator[Served]:
    """The sample production on a desk that the tests of a file share: none of them changes anything on disk."""
    folder = tmp_path_factory.mktemp("desk") / "low-tide-post"
    copy_of(heard_sample, folder)
    served = ServedHere(folder)
    before = contents(folder)
    yield served
    served.end()
    assert contents(folder) == before, "a test has changed what others look at"


def contents(folder: Path) -> dict[str, bytes]:
    """Return what people and programs wrote into a production, but not what is only remembered."""
    paths = (path for path in folder.rglob("*") if path.is_file() and ".desk" not in path.parts)
    return {str(path.relative_to(folder)): path.read_bytes() for path in paths if ".lipsync" not in path.parts}


@pytest.fixture
def desk(sample: Path, serve_here: Callable[[Path], Served]) -> Served:
    """The sample production on a desk, entered."""
    return serve_here(sample)


@pytest.fixture(scope="session")
def browser() -> Iterator[Any]:
    """A real Chromium without a window; only where there is none, and not in CI, tests that need it are skipped."""
    if CHROMIUM is None:
        if "CI" in os.environ:
            pytest.fail("chromium is not installed, and browser tests are never skipped in CI")
        pytest.skip("no Chromium here; install the package chromium to run browser tests")
    from playwright.sync_api import sync_playwright

    with sync_playwright() as driver:
        opened = driver.chromium.launch(executable_path=CHROMIUM, args=list(FLAGS))
        yield opened
        opened.close()


@pytest.fixture
def opened(browser: Any) -> Iterator[Callable[..., Any]]:
    """Return a function that opens a desk in a window of its own; whatever goes wrong in it fails the test."""
    contexts, faults = [], []

    def begin(desk: Served, path: str = "", **settings: Any) -> Any:
        host = f"http://127.0.0.1:{desk.port}"
        state = {"origins": [{"origin": host, "localStorage": [desk.kept_by_browser()]}]}
        window = {"viewport": {"width": 1280, "height": 860}, "storage_state": state}
        context = browser.new_context(**{**window, **settings})
        contexts.append(context)
        page = context.new_page()
        page.set_default_timeout(60_000)  # a busy machine is slow, and no fault
        page.on("pageerror", lambda error: faults.append(str(error)))
        page.on("console", lambda message: faults.append(message.text) if message.type == "error" else None)
        # The viewer of printed pages is a part of the browser itself.
        own = (host, "data:", "blob:", "chrome-extension:", "chrome:")
        page.on("request", lambda request: None if request.url.startswith(own) else faults.append(request.url))
        page.goto(f"{host}/{path}")
        return page

    begin.faults = faults  # type: ignore[attr-defined]
    yield begin
    for context in contexts:
        # With requests that are held back or not answered yet, the browser may close a window for ever.
        for page in context.pages:
            page.unroute_all(behavior="ignoreErrors")
            page.goto("about:blank")
        context.close()
    assert faults == []
