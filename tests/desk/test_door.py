"""The desk's door: who is not let in gets nothing, and keeps nobody out, on this machine too."""

import contextlib
import http.client
import json
import os
import resource
import signal
import socket
import stat
import sys
import tempfile
import threading
import time
from collections.abc import Callable, Iterator
from http.server import BaseHTTPRequestHandler, ThreadingHTTPServer
from importlib.resources import files
from pathlib import Path
from typing import Any

import pytest

from lipsync.desk import opening_page
from lipsync.desk.opening_page import OpeningPage
from tests.desk.conftest import Served
from tests.desk.paging import kept, open_line

pytestmark = pytest.mark.skipif(sys.platform == "win32", reason="modes, users and signals are those of POSIX")

# A browser that notes what it is told to open, and stays, as browsers do.
BROWSER = """#!/bin/sh
exec > /dev/null 2>&1
echo $$ > "$TOLD.pid"
printf %s "$1" > "$TOLD.new" && mv "$TOLD.new" "$TOLD"
trap 'kill $!' TERM
sleep 600 &
wait
"""


@pytest.fixture
def home() -> Iterator[Path]:
    """A home that everybody may look into, so that only what the desk itself does keeps anyone out."""
    with tempfile.TemporaryDirectory() as folder:
        os.chmod(folder, 0o755)
        yield Path(folder)


@pytest.fixture
def with_browser(sample: Path, home: Path, serve: Callable[..., Served]) -> Iterator[tuple[Served, Path]]:
    """A desk that has opened a browser, and the page that the browser was told."""
    browser, told = home / "browser", home / "told"
    browser.write_text(BROWSER, "utf-8")
    browser.chmod(0o755)
    environment = os.environ | {"HOME": str(home), "BROWSER": f"{browser} %s &", "TOLD": str(told)}
    desk = serve(
        sample,
        "--browser",
        env=environment,
        # Where all tests run in the background, it would be ignored until the desk serves.
        preexec_fn=lambda: signal.signal(signal.SIGINT, signal.SIG_DFL),
    )
    try:
        for _ in range(600):
            if told.exists():
                break
            time.sleep(0.05)
        yield desk, Path(told.read_text("utf-8").removeprefix("file://"))
    finally:
        os.kill(int(told.with_name("told.pid").read_text("utf-8")), signal.SIGTERM)


def _running(word: object) -> set[int]:
    """Return the processes with a word on their command line."""
    found = set()
    for path in Path("/proc").glob("[0-9]*/cmdline"):
        with contextlib.suppress(OSError):
            if str(word).encode() in path.read_bytes():
                found.add(int(path.parent.name))
    return found


def test_the_browser_is_told_a_private_file_that_leads_to_the_desk_and_is_removed(
    with_browser: tuple[Served, Path], home: Path
) -> None:
    desk, page = with_browser
    assert desk.address in page.read_text("utf-8")
    assert stat.S_IMODE(page.stat().st_mode) == 0o600
    assert stat.S_IMODE(page.parent.stat().st_mode) == 0o700
    assert page.parent.parent == home
    if sys.platform == "linux":
        assert _running(page.name)
        assert not _running(desk.token)
    desk.enter()
    for _ in range(100):
        if not page.parent.exists():
            break
        time.sleep(0.05)
    assert not page.parent.exists()


@pytest.mark.parametrize("name", ["SIGINT", "SIGTERM", "SIGHUP"])
def test_a_desk_that_ends_takes_the_page_along(with_browser: tuple[Served, Path], name: str) -> None:
    desk, page = with_browser
    assert page.exists()
    desk.process.send_signal(getattr(signal, name))
    desk.process.wait(timeout=120)
    assert not page.parent.exists()


def test_where_no_private_file_can_be_made_none_is_made(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(opening_page, "_places", lambda: iter((tmp_path / "not there", tmp_path)))
    monkeypatch.setattr(opening_page, "_private", lambda path: path.suffix != ".html")  # as on a disk without modes
    told: list[str] = []
    assert not OpeningPage("http://127.0.0.1:8650/#/open/secret").opened(lambda url: told.append(url) is None)
    assert told == []
    assert list(tmp_path.iterdir()) == []


def test_what_killed_desks_left_is_cleared_and_nothing_else(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(opening_page, "_places", lambda: iter((tmp_path,)))
    left, fresh = OpeningPage("http://a"), OpeningPage("http://b")
    assert left.file is not None
    assert fresh.file is not None
    (tmp_path / "lipsync-desk-notes").mkdir(mode=0o700)
    (tmp_path / "lipsync-desk-notes" / "mine.txt").write_text("x", "utf-8")
    for old in (left.file.parent, tmp_path / "lipsync-desk-notes"):
        os.utime(old, (time.time() - 4000, time.time() - 4000))
    OpeningPage("http://c").remove()
    assert not left.file.parent.exists()
    assert fresh.file.exists()
    assert (tmp_path / "lipsync-desk-notes" / "mine.txt").exists()


# What another user of the machine tries: the command lines and settings of every process, every file below a folder,
# every path of the desk. Prints what it got.
OTHER_USER = """
got = []
for process in filter(str.isdigit, os.listdir("/proc")):
    for file in ("cmdline", "environ"):
        try:
            held = open(f"/proc/{process}/{file}", "rb").read()
        except OSError:
            continue
        got += [f"{file} of {process}" for secret in secrets if secret.encode() in held]
for folder, _, names in os.walk(home):
    for name in names:
        try:
            held = open(os.path.join(folder, name), "rb").read()
        except OSError:
            continue
        got += [f"file {name}" for secret in secrets if secret.encode() in held]
for method, path in paths:
    for key in (None, "Bearer ", "Bearer x"):
        line = http.client.HTTPConnection("127.0.0.1", port, timeout=60)
        headers = {"origin": f"http://127.0.0.1:{port}", "content-type": "application/json"}
        headers |= {"authorization": key} if key else {}
        line.request(method, path, json.dumps({"token": "x", "version": ""}) if method == "POST" else None, headers)
        answer = line.getresponse()
        body = answer.read()
        if answer.status != 401 or set(json.loads(body)) != {"error"} or answer.headers["set-cookie"]:
            got.append(f"{method} {path}: {answer.status}")
        line.close()
told = [os.getuid(), got]
"""
NOBODY = 65534


@pytest.mark.skipif(
    sys.platform != "linux" or os.geteuid() != 0,
    reason="only root on Linux can start a process of another user",
)
def test_another_user_of_the_machine_gets_nothing(with_browser: tuple[Served, Path], home: Path) -> None:
    desk, page = with_browser
    token = desk.token
    desk_of_mine = Served(desk.folder, desk.process, desk.port, desk.address, desk.said)
    tried = _tried_by_another(desk, home, [token], [("POST", "/api/open"), ("GET", "/api/production")])
    assert tried == [NOBODY, []]
    assert page.exists()  # the token is not spent by guesses
    desk_of_mine.enter()
    ways = desk_of_mine.ask("GET", "/api/description").json()["paths"]
    paths = [
        (method.upper(), path.replace("{line}", "020-a").replace("{part}", "0"))
        for path, item in ways.items()
        for method in item
    ]
    paths += [("GET", "/api/still"), ("GET", "/api/description"), ("POST", "/api/open"), ("PUT", "/"), ("GET", "/x")]
    paths += [("GET", f"/open/{token}"), ("GET", "/static")]
    assert len(paths) > 15
    secrets = [desk_of_mine.key, desk_of_mine.proof]
    assert _tried_by_another(desk, home, secrets, paths) == [NOBODY, []]


def _tried_by_another(desk: Served, home: Path, secrets: list[str], paths: list[tuple[str, str]]) -> list[Any]:
    """Return the user who tried, and what they got; in a fork, for root's Python may be closed to others."""
    names = {"port": desk.port, "home": str(home), "secrets": secrets, "paths": paths}
    reading, writing = os.pipe()
    child = os.fork()
    if child == 0:
        try:
            os.setgroups([])
            os.setresgid(NOBODY, NOBODY, NOBODY)
            os.setresuid(NOBODY, NOBODY, NOBODY)
            names |= {"os": os, "json": json, "http": http}
            exec(OTHER_USER, names)
            os.write(writing, json.dumps(names["told"]).encode())
        except BaseException as error:
            os.write(writing, json.dumps([repr(error)]).encode())
        os._exit(0)
    os.close(writing)
    with os.fdopen(reading, "rb") as told:
        found = told.read()
    os.waitpid(child, 0)
    return list(json.loads(found))


def test_the_page_without_the_key_is_the_programs_own_and_no_more(desk: Served) -> None:
    static = Path(str(files("lipsync") / "desk" / "static"))
    for path, name in (("/", "index.html"), ("/static/main.js", "main.js"), ("/static/desk.css", "desk.css")):
        answer = desk.ask("GET", path, authorization=None)
        assert (answer.status, answer.body) == (200, (static / name).read_bytes())
        assert "set-cookie" not in answer.headers


@contextlib.contextmanager
def listening(port: int = 0) -> Iterator[tuple[int, list[tuple[str, str, dict[str, str]]]]]:
    """Somebody else's server at a port of this machine, and what it is asked."""
    asked: list[tuple[str, str, dict[str, str]]] = []

    class Answers(BaseHTTPRequestHandler):
        def do_GET(self) -> None:
            asked.append((self.command, self.path, {name.lower(): value for name, value in self.headers.items()}))
            body = b'{"proof": "believe me"}' if self.path.startswith("/api") else b"<p>hello"
            self.send_response(200)
            self.send_header("content-type", "application/json" if body.startswith(b"{") else "text/html")
            self.send_header("content-length", str(len(body)))
            self.end_headers()
            self.wfile.write(body)

        do_POST = do_GET  # noqa: N815 - the name that the library calls

        def log_message(self, *_: object) -> None:
            pass

    server = ThreadingHTTPServer(("127.0.0.1", port), Answers)
    threading.Thread(target=server.serve_forever, daemon=True).start()
    try:
        yield server.server_address[1], asked
    finally:
        server.shutdown()
        server.server_close()


def test_the_page_that_is_handed_over_opens_the_desk_and_no_other_port_is_told(
    desk: Served, browser: Any, sample: Path, serve: Callable[..., Served], tmp_path: Path
) -> None:
    fresh = serve(sample)
    page_file = tmp_path / "hand-over.html"
    page_file.write_text(opening_page._PAGE.format(address=fresh.address), "utf-8")
    context = browser.new_context()
    try:
        page = context.new_page()
        page.goto(page_file.as_uri())
        page.wait_for_selector("text=Poor old lamp.")
        assert page.url == f"http://127.0.0.1:{fresh.port}/"
        assert context.cookies() == []
        page.reload()
        page.wait_for_selector("text=Poor old lamp.")
        with listening() as (port, asked):
            page.goto(f"http://127.0.0.1:{port}/")
            assert page.evaluate("JSON.stringify([{...localStorage}, {...sessionStorage}, document.cookie])") == (
                '[{},{},""]'
            )
        assert asked
        assert not any({"cookie", "authorization"} & set(headers) for _, _, headers in asked)
    finally:
        context.close()


def test_whoever_takes_the_port_of_a_desk_that_ended_is_sent_no_change(
    sample: Path, serve: Callable[..., Served], opened: Callable[..., Any]
) -> None:
    desk = serve(sample)
    desk.enter()
    page = open_line(opened, desk)
    desk.process.kill()
    desk.process.communicate()
    with listening(desk.port) as (_, asked):
        page.locator(".scroller").focus()
        page.keyboard.press("ArrowRight")
        page.keyboard.press("r")
        page.get_by_text("Not saved: confirm part. What answers here is another start", exact=False).wait_for()
        page.wait_for_timeout(300)
    assert ("GET", "/api/still") in [(method, path) for method, path, _ in asked]
    assert [path for method, path, _ in asked if method == "POST"] == []
    assert "corrected" not in kept(sample)
    page.close()  # else it goes on asking, and what it is refused comes later
    opened.faults[:] = [f for f in opened.faults if "ERR_" not in f]  # type: ignore[attr-defined]


def test_eleven_hundred_half_open_connections_keep_nobody_out(sample: Path, serve: Callable[..., Served]) -> None:
    soft, hard = resource.getrlimit(resource.RLIMIT_NOFILE)
    wanted = 1150
    if hard != resource.RLIM_INFINITY and hard < wanted + 300:
        pytest.skip(f"this machine lets a process open {hard} files only")
    resource.setrlimit(resource.RLIMIT_NOFILE, (max(soft, wanted + 300), hard))
    desk = serve(sample, preexec_fn=lambda: resource.setrlimit(resource.RLIMIT_NOFILE, (1024, hard)))
    desk.enter()
    mine = socket.create_connection(("127.0.0.1", desk.port), timeout=30)
    request = f"GET /api/still HTTP/1.1\r\nHost: 127.0.0.1:{desk.port}\r\nAuthorization: Bearer {desk.key}\r\n\r\n"

    def still() -> None:
        mine.sendall(request.encode())
        answer = b""
        while not answer.endswith(b"}"):
            more = mine.recv(4000)
            assert more, "closed"
            answer += more
        assert answer.startswith(b"HTTP/1.1 200")

    still()
    with contextlib.ExitStack() as held:
        for number in range(wanted):
            if number % 100 == 0:
                still()  # the browser's own connection, on which the key was shown, is not the one that has to go
            line = held.enter_context(socket.create_connection(("127.0.0.1", desk.port), timeout=30))
            with contextlib.suppress(OSError):  # those that are over the most are closed at once
                line.sendall((b"", b"GET / HTTP/1.1\r\nHost: ", b"POST /api/open HTTP/1.1\r\n")[number % 3])
        began = time.monotonic()
        assert desk.line("020-a")["id"] == "020-a"
        assert time.monotonic() - began < 10
    mine.close()
    resource.setrlimit(resource.RLIMIT_NOFILE, (soft, hard))


# A desk that waits for a request for a second only.
IMPATIENT = """
import sys
from lipsync.desk import connections
connections.WHOLE_WITHIN_S = 1.0
from lipsync.app.cli import main
sys.exit(main())
"""


def test_a_request_that_comes_slowly_is_cut_off_and_a_slow_answer_is_not(
    sample: Path, serve: Callable[..., Served]
) -> None:
    desk = serve(sample, program=("-c", IMPATIENT))
    desk.enter()
    host = f"Host: 127.0.0.1:{desk.port}\r\nOrigin: http://127.0.0.1:{desk.port}\r\n"
    post = f"POST /api/open HTTP/1.1\r\n{host}Content-Type: application/json\r\nContent-Length: 60000\r\n\r\n"
    for begins in ("", "G", f"GET / HTTP/1.1\r\n{host}", post):
        with socket.create_connection(("127.0.0.1", desk.port), timeout=30) as line:
            line.sendall(begins.encode())
            began = time.monotonic()
            with contextlib.suppress(OSError):
                while time.monotonic() - began < 20:
                    line.settimeout(0.2)
                    try:
                        if line.recv(100) == b"":
                            break
                    except TimeoutError:
                        line.sendall(b"x" if begins else b"")  # a byte now and then does not help
            assert 0.5 < time.monotonic() - began < 10, begins
    # Listening to a line again takes longer than a second, and is waited for.
    version = desk.line("020-a")["version"]
    answer = desk.ask("POST", "/api/lines/020-a/listen", {"version": version})
    assert answer.status == 200
