"""Requests that are not the desk's own page's: each is refused with a sentence, and nothing on disk changes."""

import os
import socket
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest

from tests.desk.conftest import Served, ServedHere
from tests.running import copy_of

READ = "/api/lines/020-a"
CHANGE = f"{READ}/changes"


@pytest.fixture(scope="module")
def desk(heard_sample: Path, tmp_path_factory: pytest.TempPathFactory) -> Iterator[Served]:
    folder = tmp_path_factory.mktemp("desk") / "low-tide-post"
    copy_of(heard_sample, folder)
    served = ServedHere(folder)
    yield served
    served.end()


def state(folder: Path) -> dict[str, bytes]:
    return {path.as_posix(): path.read_bytes() for path in sorted((folder / "breakdowns").rglob("*.toml"))}


@pytest.mark.parametrize(
    ("headers", "status", "says"),
    [
        ({"authorization": None}, 401, "has not been let in"),
        ({"authorization": "Bearer x"}, 401, "has not been let in"),
        ({"authorization": "Bearer "}, 401, "has not been let in"),
        ({"authorization": "Basic \xe9"}, 401, "has not been let in"),
        ({"host": "localhost:8650"}, 421, "not the address of the desk"),
        ({"host": "example.org"}, 421, "not the address of the desk"),
        ({"host": "localhost.example.org:8650"}, 421, "not the address of the desk"),
        ({"host": None}, 400, ""),  # the server's own refusal: RFC 9112 asks for a Host
        ({"origin": "http://example.org"}, 403, "only the desk's own page"),
        ({"origin": "null"}, 403, "only the desk's own page"),
        ({"sec_fetch_site": "cross-site"}, 403, "only the desk's own page"),
        ({"sec_fetch_site": "same-site"}, 403, "only the desk's own page"),
    ],
)
def test_what_is_not_the_desks_own_page_is_refused(desk: Served, headers: dict, status: int, says: str) -> None:
    answer = desk.ask("GET", READ, **headers)
    assert answer.status == status
    assert says in answer.body.decode()


@pytest.mark.parametrize(
    ("headers", "status"),
    [
        ({"origin": None}, 403),
        ({"origin": "https://127.0.0.1"}, 403),
        ({"content_type": "text/plain"}, 415),
        ({"content_type": "application/x-www-form-urlencoded"}, 415),
        ({"authorization": None}, 401),
    ],
)
def test_a_change_from_elsewhere_is_refused(desk: Served, headers: dict, status: int) -> None:
    before = state(desk.folder)
    body = {"version": desk.line("020-a")["version"], "change": {"kind": "delete-part", "part": 0}}
    assert desk.ask("POST", CHANGE, body, **headers).status == status
    assert state(desk.folder) == before


CLIMBING = (
    "/static/../app.py",
    "/static/%2e%2e%2fapp.py",
    "/static/..%5capp.py",
    "/static//etc/passwd",
    "/../../etc/passwd",
    "/static/index.html%00.js",
    "/api/lines/..%2f..%2fproduction/sound",
    "/api/lines/../../x",
    "/open/../api/lines",
    "/api/lines/%2e%2e",
    "/static/",
)


@pytest.mark.parametrize("path", CLIMBING)
def test_paths_that_climb_out_find_nothing(desk: Served, path: str) -> None:
    answer = desk.ask("GET", path)
    assert answer.status in (401, 404)
    assert b"root:" not in answer.body
    assert b"import" not in answer.body


@pytest.mark.parametrize(
    ("body", "status"),
    [
        (b"", 400),
        (b"{", 400),
        (b"\xff\xfe", 400),
        (b"[" * 60_000, 400),
        (b"1e999999", 422),
        (b"NaN", 422),
        (b"null", 422),
        (b"[]", 422),
        (b'{"version": ""}', 422),
        (b'{"version": "", "change": {"kind": "open-the-door"}}', 422),
        (b'{"version": 1, "change": {"kind": "take-newer"}}', 422),
        (b'{"version": "", "change": {"kind": "take-newer", "more": 1}}', 422),
        (b'{"version": "", "change": {"kind": "delete-part", "part": -1}}', 422),
        (b'{"version": "", "change": {"kind": "delete-part", "part": "0"}}', 422),
        (b'{"version": "", "change": {"kind": "delete-part", "part": true}}', 422),
        (b'{"version": "", "change": {"kind": "delete-part", "part": ' + b"9" * 5000 + b"}}", 400),
        (b'{"version": "", "change": {"kind": "take-newer"}}', 409),
        (b" " * 70_000, 413),
    ],
)
def test_what_is_sent_is_checked(desk: Served, body: bytes, status: int) -> None:
    before = state(desk.folder)
    answer = desk.ask("POST", CHANGE, body)
    assert answer.status == status
    assert answer.json()["error"]
    assert state(desk.folder) == before


def test_a_body_that_says_too_little_of_itself_is_cut_off(desk: Served) -> None:
    """Sent in chunks, without a length; the desk stops listening after 64 kB and does not keep what it heard."""
    with socket.create_connection(("127.0.0.1", desk.port), timeout=30) as line:
        head = f"POST {CHANGE} HTTP/1.1\r\nHost: 127.0.0.1:{desk.port}\r\nOrigin: http://127.0.0.1:{desk.port}\r\n"
        head += f"Authorization: Bearer {desk.key}\r\nContent-Type: application/json\r\n"
        head += "Transfer-Encoding: chunked\r\n\r\n"
        line.sendall(head.encode())
        answer = b""
        try:
            for _ in range(200):
                line.sendall(b"1000\r\n" + b" " * 4096 + b"\r\n")
            line.sendall(b"0\r\n\r\n")
            answer = line.recv(200)
        except OSError:
            answer = answer or line.recv(200)
    assert answer.startswith(b"HTTP/1.1 413")


@pytest.mark.parametrize(
    ("method", "path"), [("DELETE", READ), ("PUT", READ), ("GET", CHANGE), ("POST", "/"), ("PATCH", CHANGE)]
)
def test_a_path_is_asked_in_its_own_way_only(desk: Served, method: str, path: str) -> None:
    assert desk.ask(method, path, {}).status == 405


@pytest.mark.parametrize("path", [f"{READ}/parts/{{}}/pronunciations", "/api/runs/{}", "/api/runs/1/files/{}"])
def test_a_number_that_is_too_long_to_be_read_is_of_nothing(desk: Served, path: str) -> None:
    assert desk.ask("GET", path.format("9" * 5000)).status == 404


def test_every_answer_forbids_what_comes_from_elsewhere(desk: Served) -> None:
    for path in ("/", "/static/main.js", READ, "/nothing"):
        headers = desk.ask("GET", path).headers
        assert "default-src 'none'" in headers["content-security-policy"]
        assert "frame-ancestors 'none'" in headers["content-security-policy"]
        assert headers["x-content-type-options"] == "nosniff"
        assert headers["referrer-policy"] == "no-referrer"


def test_a_token_opens_one_browser_and_the_next_is_told(sample: Path, serve: Callable[..., Served]) -> None:
    desk = serve(sample)
    first = desk.ask("POST", "/api/open", {"token": desk.token})
    assert first.status == 200
    assert "set-cookie" not in first.headers
    for body in ({"token": desk.token}, {"token": ""}, {"token": 1}, {"token": "\ud800"}, {}, [], None, b"null"):
        answer = desk.ask("POST", "/api/open", body)
        assert answer.status in (400, 401), body
        assert "key" not in answer.json()
    assert desk.process.stderr is not None
    said = [desk.process.stderr.readline() for _ in range(2)]
    assert said[1].startswith("A browser has opened the desk. For another one: http://127.0.0.1:")
    second = desk.ask("POST", "/api/open", {"token": said[1].strip().rpartition("/")[2]})
    assert second.json() == first.json()


def test_a_port_in_use_is_passed_over_and_said(sample: Path, serve: Callable[..., Served]) -> None:
    with socket.socket() as taken:
        taken.bind(("127.0.0.1", 0))
        taken.listen()
        port = taken.getsockname()[1]
        desk = serve(sample, "--port", str(port))
    assert desk.port > port
    assert desk.said[0] == f"Port {port} is in use; the desk takes {desk.port}."


def test_without_a_browser_the_address_is_to_be_opened_by_hand(sample: Path, serve: Callable[..., Served]) -> None:
    without = {name: value for name, value in os.environ.items() if name not in ("DISPLAY", "WAYLAND_DISPLAY")}
    desk = serve(sample, "--browser", env=without | {"PATH": "", "BROWSER": ""})
    assert desk.process.stderr is not None
    assert desk.process.stderr.readline() == "This address opens one browser. Stop the desk with Ctrl+C.\n"
    said = desk.process.stderr.readline()
    assert said == "No browser could be opened here; open that address in one yourself.\n"
    desk.enter()


def test_other_machines_are_let_in_with_a_warning_only(sample: Path, serve: Callable[..., Served]) -> None:
    desk = serve(sample, "--address", "0.0.0.0")
    assert any(text.startswith("Take care: other machines can reach the desk") for text in desk.said)
    assert "/#/open/" in desk.address


def test_a_production_that_is_moved_away_is_missed_and_nothing_is_written_where_it_was(
    sample: Path, serve_here: Callable[[Path], Served]
) -> None:
    desk = serve_here(sample)
    version = desk.line("020-a")["version"]
    away = sample.with_name("elsewhere")
    sample.rename(away)
    answer = desk.change("020-a", version, kind="set-checked", checked=True)
    assert answer.status == 503
    assert "is not there any more" in answer.json()["error"]
    assert not sample.exists()
    away.rename(sample)
    assert desk.change("020-a", version, kind="set-checked", checked=True).status == 200


def test_a_production_that_is_broken_meanwhile_is_said_and_mended(
    sample: Path, serve_here: Callable[[Path], Served]
) -> None:
    desk = serve_here(sample)
    scene = sample / "scenes/01-lamp-room.toml"
    whole = scene.read_text(encoding="utf-8")
    scene.write_text(whole.replace('character = "crab"', 'character = "whelk"'), encoding="utf-8")
    answer = desk.ask("GET", "/api/lines")
    assert answer.status == 503
    assert "whelk" in answer.json()["error"]
    scene.write_text(whole, encoding="utf-8")
    assert desk.ask("GET", "/api/lines").status == 200


def test_a_line_broken_by_hand_while_it_is_open_is_said(sample: Path, serve_here: Callable[[Path], Served]) -> None:
    desk = serve_here(sample)
    version = desk.line("020-a")["version"]
    file = sample / "breakdowns/01-lamp-room/020-a.toml"
    whole = file.read_bytes()
    file.write_bytes(whole.replace(b'phoneme = "G"', b'phoneme = "GG"', 1))
    answer = desk.change("020-a", version, kind="set-checked", checked=True)
    assert answer.status == 503  # the page keeps the change until the file can be read again
    assert "020-a.toml" in answer.json()["error"]
    assert "GG" in answer.json()["error"]
    assert b"GG" in file.read_bytes()
    file.write_bytes(whole)
    assert desk.change("020-a", version, kind="set-checked", checked=True).status == 200
