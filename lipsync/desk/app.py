"""The paths of the desk and what each answers. The only file that knows Starlette.

In: requests that the guard let through. Out: JSON (tables of views.py), sound, bytes of pictures, the page's own
files. A fault that a person can mend is answered with `{"error": sentence}`, and a status that says its kind:

    400 the body is not JSON                  404 there is no such thing
    409 the line was changed meanwhile        422 it cannot be done
    503 the production is gone or broken      507 a file cannot be written

An answer with status 409 has the present state of the line too.
"""

from __future__ import annotations

import asyncio
import json
import time
from collections.abc import Callable, Iterator
from importlib.resources import files
from pathlib import Path
from typing import Any

from pydantic import TypeAdapter, ValidationError
from starlette.applications import Starlette
from starlette.concurrency import run_in_threadpool
from starlette.convertors import IntegerConvertor, register_url_convertor
from starlette.middleware import Middleware
from starlette.requests import Request
from starlette.responses import JSONResponse, Response
from starlette.routing import Route
from starlette.types import ASGIApp, Receive, Scope, Send

from lipsync.desk import bodies
from lipsync.desk.description import description
from lipsync.desk.desk import Desk
from lipsync.desk.fields import LONGEST_US
from lipsync.desk.open_production import UnreadableError
from lipsync.desk.print_runs import NoSuchRunError
from lipsync.desk.refusals import sentence_of
from lipsync.desk.store import StaleError
from lipsync.errors import LipsyncError, OutputError

_KINDS = {
    ".html": "text/html; charset=utf-8",
    ".js": "text/javascript; charset=utf-8",
    ".css": "text/css; charset=utf-8",
    ".svg": "image/svg+xml",
    ".ttf": "font/ttf",
}

# The browser asks for the page's files each time, so that a page is never older than the program.
_FRESH = {"cache-control": "no-cache"}
_NEVER_KEPT = {"cache-control": "no-store"}

# How often files are looked at while a page waits for news (chosen: with reading them again, a change is shown well
# within a second); and after how long the page is answered in any case: less than the 2 s for which a stopped desk
# waits for requests in progress.
_LOOK_EACH_S = 0.25
_NEWS_WITHIN_S = 1.5

# The highest column of a picture that may be asked for, and the most columns at once: half a minute.
_COLUMNS = {"first": 10_000_000, "count": 6000}

_WAV = "audio/wav"
_NEWS = "/api/news"
_STALE = "the line was changed meanwhile; nothing of yours was written"

Answer = Callable[..., Any]


class _NumberInPath(IntegerConvertor):
    """A whole number in a path; a number of thousands of digits, which Python refuses to read, matches no path."""

    regex = "[0-9]{1,9}"


register_url_convertor("number", _NumberInPath())


def app_of(desk: Desk) -> Starlette:
    """Return the desk as an ASGI program."""
    static = _static()

    async def page(_request: Request) -> Response:
        return static["index.html"]

    async def file(request: Request) -> Response:
        found = static.get(request.path_params["name"])
        return found if found is not None else _error(404, "there is no such file")

    async def described(_request: Request) -> Response:
        return _json(description())

    return Starlette(
        routes=[
            Route("/", page),
            Route("/static/{name}", file),
            Route("/api/description", described),
            Route("/api/production", _plain(desk.production)),
            Route("/api/lines", _plain(desk.lines)),
            Route("/api/round", _plain(desk.round)),
            Route("/api/overview", _plain(desk.overview)),
            Route(_NEWS, _watched(desk.news)),
            Route("/api/runs", _plain(desk.runs.all)),
            Route("/api/runs/{run:number}", _watched(desk.runs.look)),
            Route("/api/runs/{run:number}/stop", _told(bodies.STOP_BODY, _stopping(desk)), methods=["POST"]),
            Route("/api/runs/{run:number}/files/{file:number}", _bytes(desk.runs.file, "application/octet-stream")),
            Route("/api/lines/{line}", _plain(desk.line)),
            Route("/api/lines/{line}/version", _plain(desk.version)),
            Route("/api/lines/{line}/track", _plain(desk.track)),
            Route("/api/lines/{line}/recording", _plain(desk.fingerprint)),
            Route("/api/lines/{line}/recording/level", _between(desk.recording_level)),
            Route("/api/lines/{line}/recording/sound", _between(desk.recording_sound, _WAV)),
            Route("/api/lines/{line}/sound", _bytes(desk.sound, _WAV)),
            Route("/api/lines/{line}/shot", _plain(desk.shot)),
            Route("/api/lines/{line}/shot/sound", _bytes(desk.shot_sound, _WAV)),
            Route("/api/lines/{line}/shot/sound-with", _bytes(desk.sound_with_others, _WAV)),
            Route("/api/lines/{line}/picture", _numbered(desk.picture, _COLUMNS, "application/octet-stream")),
            Route("/api/lines/{line}/parts/{part:number}/pronunciations", _plain(desk.pronunciations)),
            *(
                Route(f"/api/lines/{{line}}/{name}", answer, methods=["POST"])
                for name, answer in _told_of_lines(desk)
            ),
        ],
        exception_handlers={404: _nothing, 405: _no_such_way},
        middleware=[Middleware(_FirstOfAll, desk=desk)],
    )


class _FirstOfAll:
    """Has the desk put off what it does by itself while a page waits; whoever waits for news only does not wait."""

    def __init__(self, app: ASGIApp, desk: Desk) -> None:
        self._app, self._desk = app, desk

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        if scope["path"] != _NEWS:
            self._desk.give_way()
        await self._app(scope, receive, send)


def _told_of_lines(desk: Desk) -> Iterator[tuple[str, Answer]]:
    """Yield the paths of a line to which a body is sent, each with its answer."""
    yield "changes", _told(bodies.CHANGE_BODY, desk.change, desk.stale)
    yield "entry", _told(bodies.ENTRY_BODY, desk.write_entry)
    yield "whole", _told(bodies.WHOLE_BODY, desk.write_whole)
    yield "undo", _told(bodies.VERSION_BODY, _way(desk, -1), desk.stale)
    yield "redo", _told(bodies.VERSION_BODY, _way(desk, 1), desk.stale)
    yield "listen", _told(bodies.VERSION_BODY, _listening(desk), desk.stale)
    yield "print", _told(bodies.PRINT_BODY, desk.print)


def _plain(answer: Answer) -> Answer:
    """Return an answer that takes only the parameters of the path, in their order."""

    async def asked(request: Request) -> Response:
        return await _answered(answer, *request.path_params.values())

    return asked


def _watched(answer: Answer) -> Answer:
    """Return an answer that waits until something differs from the parameter `seen`, or a time has passed."""

    async def asked(request: Request) -> Response:
        seen, until = request.query_params.get("seen", ""), time.monotonic() + _NEWS_WITHIN_S
        while True:
            began = time.monotonic()
            found = await _answered(answer, *request.path_params.values())
            took_s = time.monotonic() - began  # much of it in a large production: then it is looked at less often
            same = found.status_code == 200 and json.loads(bytes(found.body))["seen"] == seen
            if not same or time.monotonic() >= until or await request.is_disconnected():
                return found
            await asyncio.sleep(max(_LOOK_EACH_S, 2 * took_s))

    return asked


def _bytes(answer: Answer, kind: str) -> Answer:
    """Return an answer that sends bytes of a media type."""

    async def asked(request: Request) -> Response:
        return await _answered(answer, *request.path_params.values(), kind=kind)

    return asked


def _numbered(answer: Answer, most: dict[str, int], kind: str | None = None) -> Answer:
    """Return an answer for a path with whole numbers in its query, each with its largest value (`most`)."""

    async def asked(request: Request) -> Response:
        numbers = [_number(request, name, highest) for name, highest in most.items()]
        if None in numbers:
            limits = " and ".join(map(str, most.values()))
            return _error(422, f"{' and '.join(most)} are whole numbers, at most {limits}")
        return await _answered(answer, request.path_params["line"], *numbers, kind=kind)

    return asked


def _between(answer: Answer, kind: str | None = None) -> Answer:
    """Return an answer for a path with a stretch of a recording in its query."""
    return _numbered(answer, {"first_us": LONGEST_US, "last_us": LONGEST_US}, kind)


def _told(adapter: TypeAdapter[Any], answer: Answer, stale: Answer | None = None) -> Answer:
    """Return an answer for a path to which a body is sent, checked by `adapter`.

    `stale` gives the present state of the line if it was changed meanwhile.
    """

    async def asked(request: Request) -> Response:
        try:
            body = adapter.validate_python(json.loads(await request.body()), strict=True)
        except ValidationError as error:
            return _error(422, sentence_of(error))
        except (ValueError, RecursionError):
            return _error(400, "what was sent is no JSON")
        (place,) = request.path_params.values()
        try:
            return await _answered(answer, place, body)
        except StaleError as error:
            assert stale is not None
            stands = await run_in_threadpool(stale, place, error)
            return _json({"error": _STALE, "line": stands}, 409)

    return asked


def _way(desk: Desk, way: int) -> Answer:
    return lambda line, body: desk.go(line, body.version, way)


def _listening(desk: Desk) -> Answer:
    return lambda line, body: desk.listen(line, body.version)


def _stopping(desk: Desk) -> Answer:
    return lambda run, _body: desk.runs.stop(run)


async def _answered(answer: Answer, *arguments: object, kind: str | None = None) -> Response:
    """Return the desk's answer; it works in a thread of its own, so that other requests are answered meanwhile."""
    try:
        told = await run_in_threadpool(answer, *arguments)
    except KeyError:
        return _error(404, "there is no such line in the production")
    except NoSuchRunError:
        return _error(404, "there is no such printing any more, or it has no such file; print it again")
    except UnreadableError as error:
        return _error(503, str(error))
    except OutputError as error:
        return _error(507, str(error))
    except LipsyncError as error:
        return _error(422, str(error))
    return Response(told, media_type=kind, headers=_NEVER_KEPT) if kind else _json(told)


def _number(request: Request, name: str, most: int) -> int | None:
    text = request.query_params.get(name, "")
    return int(text) if text.isascii() and text.isdigit() and len(text) < 12 and int(text) <= most else None


def _json(table: object, status: int = 200) -> Response:
    return JSONResponse(table, status, headers=_NEVER_KEPT)


def _error(status: int, sentence: str) -> Response:
    return _json({"error": sentence}, status)


async def _nothing(_request: Request, _cause: Exception) -> Response:
    return _error(404, "there is nothing here")


async def _no_such_way(_request: Request, _cause: Exception) -> Response:
    return _error(405, "this path is not asked in that way")


def _static() -> dict[str, Response]:
    """Return the page's files by name: no other file is ever served."""
    here = Path(str(files("lipsync")))
    found = [*(here / "desk" / "static").iterdir(), *(here / "paper" / "fonts").glob("*.ttf")]
    return {
        path.name: Response(path.read_bytes(), media_type=_KINDS[path.suffix], headers=_FRESH)
        for path in sorted(found)
        if path.suffix in _KINDS
    }
