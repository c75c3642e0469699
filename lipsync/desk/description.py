"""The desk's paths as an OpenAPI 3.1 description: what can be asked, and what comes back.

It is made from the same classes that check what is sent (bodies.py), so that the two cannot differ.
"""

from __future__ import annotations

from typing import Any

from lipsync.desk import bodies
from lipsync.desk.fields import LONGEST_US

Table = dict[str, Any]

_REFUSALS = {
    "400": "no JSON",
    "401": "not let in",
    "403": "not the desk's own page",
    "404": "nothing there",
    "405": "not asked in that way",
    "413": "too much was sent",
    "415": "not JSON",
    "421": "not the desk's address",
    "422": "cannot be done",
    "503": "the production is gone or broken",
    "507": "cannot be written",
}
_LINE = {"name": "line", "in": "path", "required": True, "schema": {"type": "string", "maxLength": 60}}
_PART = {"name": "part", "in": "path", "required": True, "schema": {"type": "integer", "minimum": 0}}
_RUN, _FILE = (
    {"name": name, "in": "path", "required": True, "schema": {"type": "integer", "minimum": 0, "maximum": 10_000}}
    for name in ("run", "file")
)
_SEEN = {"name": "seen", "in": "query", "required": False, "schema": {"type": "string", "maxLength": 60}}
_COLUMNS = [
    {
        "name": name,
        "in": "query",
        "required": True,
        "schema": {"type": "integer", "minimum": 0, "maximum": most},
    }
    for name, most in (("first", 10_000_000), ("count", 6000))
]
_STRETCH = [
    {
        "name": name,
        "in": "query",
        "required": True,
        "schema": {"type": "integer", "minimum": 0, "maximum": LONGEST_US},
    }
    for name in ("first_us", "last_us")
]


_BODIES = (
    ("Change", bodies.CHANGE_BODY),
    ("EntryOf", bodies.ENTRY_BODY),
    ("Whole", bodies.WHOLE_BODY),
    ("Version", bodies.VERSION_BODY),
    ("Print", bodies.PRINT_BODY),
    ("Stop", bodies.STOP_BODY),
)


def description() -> Table:
    """Return the description."""
    schemas: Table = {}
    for name, adapter in _BODIES:
        schema = adapter.json_schema(ref_template="#/components/schemas/{model}")
        schemas |= schema.pop("$defs", {})
        schemas[name] = schema
    line = "/api/lines/{line}"
    changed = {"409": "the line was changed meanwhile"}
    return {
        "openapi": "3.1.0",
        "info": {"title": "the listening desk", "version": "1"},
        "paths": {
            "/api/production": _read("the production's rate, characters and mouth sets"),
            "/api/lines": _read("every scene, shot and line, and how far each is"),
            "/api/round": _read("every doubt of every line"),
            "/api/overview": _read("how far each shot, scene and character is"),
            "/api/news": _read("a code of all that is on disk, once it is another than was seen", _SEEN),
            line: _read("a line as it stands", _LINE),
            f"{line}/version": _read("its version", _LINE),
            f"{line}/track": _read("the piece on each frame of its shot", _LINE),
            f"{line}/recording": _read("whether its recording is still the same", _LINE),
            f"{line}/recording/level": _read("how loud its whole recording is", _LINE, *_STRETCH),
            f"{line}/recording/sound": _read("a stretch of that to hear", _LINE, *_STRETCH, kind="audio/wav"),
            f"{line}/sound": _read("its sound", _LINE, kind="audio/wav"),
            f"{line}/shot": _read("the other lines of its shot", _LINE),
            f"{line}/shot/sound": _read("the sound of its whole shot", _LINE, kind="audio/wav"),
            f"{line}/shot/sound-with": _read("what is heard in the shot while it lasts", _LINE, kind="audio/wav"),
            f"{line}/picture": _read("its level and spectrogram", _LINE, *_COLUMNS, kind="application/octet-stream"),
            f"{line}/parts/{{part}}/pronunciations": _read("the ways to say a word", _LINE, _PART),
            f"{line}/changes": _send("change the line", "Change", changed),
            f"{line}/entry": _send("change what the scene's file says of the line", "EntryOf", {}),
            f"{line}/whole": _send("change what the production's file says for all lines", "Whole", {}),
            f"{line}/undo": _send("undo", "Version", changed),
            f"{line}/redo": _send("redo", "Version", changed),
            f"{line}/listen": _send("listen to the line", "Version", changed),
            f"{line}/print": _send("print the line's shot", "Print", {}),
            "/api/runs": _read("what is being printed and was printed"),
            "/api/runs/{run}": _read("how far a printing is, once it is further than was seen", _RUN, _SEEN),
            "/api/runs/{run}/stop": _send("stop a printing", "Stop", {}, _RUN),
            "/api/runs/{run}/files/{file}": _read("a file of it", _RUN, _FILE, kind="application/octet-stream"),
        },
        "components": {"schemas": schemas},
    }


def _read(summary: str, *parameters: Table, kind: str = "application/json") -> Table:
    return {"get": {"summary": summary, "parameters": list(parameters), "responses": _responses(kind)}}


def _send(summary: str, schema: str, also: dict[str, str], place: Table = _LINE) -> Table:
    body = {"application/json": {"schema": {"$ref": f"#/components/schemas/{schema}"}}}
    return {
        "post": {
            "summary": summary,
            "parameters": [place],
            "requestBody": {"required": True, "content": body},
            "responses": _responses("application/json", also),
        }
    }


def _responses(kind: str, also: dict[str, str] | None = None) -> Table:
    refusal = {"application/json": {"schema": {"type": "object", "required": ["error"]}}}
    refused = {
        code: {"description": text, "content": refusal} for code, text in {**_REFUSALS, **(also or {})}.items()
    }
    return {"200": {"description": "done", "content": {kind: {}}}, **refused}
