"""Decides which requests may pass, before any other code looks at them.

In: a request (ASGI, the interface between Python's web servers and programs). Out: the request, if it may pass; else
a refusal in one sentence. The rules, and what each keeps out:

    the Host header names this desk                a page that makes its own name point to this machine
    the Origin, if there is one, is this desk      pages from elsewhere; every change must have an Origin
    Sec-Fetch-Site, if there is one, names no      pages from elsewhere, in requests without an Origin
    other site
    the key of this start is shown                 everyone who was not let in; letting_in.py says how it is given
    the body is JSON and not large                 forms of other pages; memory filled from outside

Only the program's own page is shown without the key: it holds nothing of the production. A token opens one browser
and is spent; another one is then made, and told to the person at the terminal.
"""

from __future__ import annotations

import json
from collections.abc import Awaitable, Callable, MutableMapping
from typing import Any

from lipsync.desk.letting_in import Pass

Scope = MutableMapping[str, Any]
Message = MutableMapping[str, Any]
Receive = Callable[[], Awaitable[Message]]
Send = Callable[[Message], Awaitable[None]]
App = Callable[[Scope, Receive, Send], Awaitable[None]]

# The largest body (chosen): a text or a pronunciation is far shorter.
MOST_BYTES = 64 * 1024

_OPENING = "/api/open"
_STILL = "/api/still"
_READING = ("GET", "HEAD")

# The page loads nothing from elsewhere, and no text of a production can run as a program. No page may frame this
# page, and it frames only what it fetched itself with the key: a printed page, for the browser's own viewer.
_POLICY = (
    "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self' data: blob:; font-src 'self'; "
    "connect-src 'self'; media-src 'self' blob:; frame-src blob:; base-uri 'none'; form-action 'none'; "
    "frame-ancestors 'none'"
)
HEADERS = (
    (b"content-security-policy", _POLICY.encode()),
    (b"x-content-type-options", b"nosniff"),
    (b"referrer-policy", b"no-referrer"),
    (b"cross-origin-resource-policy", b"same-origin"),
    (b"cross-origin-opener-policy", b"same-origin"),
)


class Guard:
    """Lets requests through to the app, or refuses them."""

    def __init__(self, app: App, way_in: Pass, let_in: Callable[[object], None] = lambda _client: None) -> None:
        """Guard `app`, with the secrets of `way_in`; `let_in` is called with each client that shows the key."""
        self._app, self._pass, self._let_in = app, way_in, let_in

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Answer a request."""
        if scope["type"] != "http":
            return
        method, path, headers = scope["method"], scope["path"], _headers(scope)
        if refusal := self._refusal(method, path, headers):
            await _answer(send, refusal[0], {"error": refusal[1]})
            return
        let_in = self._pass.holds(headers.get("authorization", ""))
        if let_in:
            self._let_in(scope.get("client"))
        elif not _is_open(method, path):
            said = "this browser has not been let in; open the address that the terminal shows"
            await _answer(send, 401, {"error": said})
            return
        body = await _body(receive) if method not in _READING else b""
        if body is None:
            await _answer(send, 413, {"error": f"more than {MOST_BYTES} bytes were sent; nothing was done"})
        elif (method, path) == ("POST", _OPENING):
            await _answer(send, *self._opened(body))
        elif (method, path) == ("GET", _STILL):
            await _answer(send, 200, {"proof": self._pass.proof})
        else:
            await self._app(scope, _once(body, receive), _with_headers(send))

    def _refusal(self, method: str, path: str, headers: dict[str, str]) -> tuple[int, str] | None:
        if headers.get("host", "").lower() not in self._pass.hosts:
            return 421, "this is not the address of the desk; open the one that the terminal shows"
        origin = headers.get("origin")
        own = {f"http://{host}" for host in self._pass.hosts}
        if (origin is not None and origin.lower() not in own) or (origin is None and method not in _READING):
            return 403, "only the desk's own page may ask that"
        # A link from any other page may lead to this page.
        if headers.get("sec-fetch-site", "none") not in ("none", "same-origin") and path != "/":
            return 403, "only the desk's own page may ask that"
        if method in _READING:
            return None
        if headers.get("content-type", "").partition(";")[0].strip().lower() != "application/json":
            return 415, "send JSON"
        length = headers.get("content-length", "0")
        if not length.isascii() or not length.isdigit() or len(length) > 12 or int(length) > MOST_BYTES:
            return 413, f"more than {MOST_BYTES} bytes were sent; nothing was done"
        return None

    def _opened(self, body: bytes) -> tuple[int, dict[str, str]]:
        try:
            told = json.loads(body)
        except (ValueError, RecursionError):
            return 400, {"error": "what was sent is no JSON"}
        token = told.get("token") if isinstance(told, dict) else None
        if not isinstance(token, str) or not self._pass.spend(token):
            return 401, {"error": "this address has been used already, or is of another start; see the terminal"}
        return 200, {"key": self._pass.key, "proof": self._pass.proof}


def _headers(scope: Scope) -> dict[str, str]:
    """Return a request's headers. No browser sends one twice: two values are joined to one that passes no rule."""
    found: dict[str, str] = {}
    for name, value in scope["headers"]:
        key, text = name.decode("latin-1").lower(), value.decode("latin-1")
        found[key] = f"{found[key]}, {text}" if key in found else text
    return found


def _is_open(method: str, path: str) -> bool:
    """Return whether a request needs no key: those for the program's own page, and those that let a browser in."""
    if method in _READING:
        return path == "/" or path.startswith("/static/")
    return (method, path) == ("POST", _OPENING)


async def _answer(send: Send, status: int, table: dict[str, str]) -> None:
    body = json.dumps(table).encode()
    headers = [
        (b"content-type", b"application/json"),
        (b"content-length", str(len(body)).encode()),
        (b"cache-control", b"no-store"),
        *([(b"connection", b"close")] if status >= 400 else []),
        *HEADERS,
    ]
    await send({"type": "http.response.start", "status": status, "headers": headers})
    await send({"type": "http.response.body", "body": body})


async def _body(receive: Receive) -> bytes | None:
    """Return all that was sent; None if it is too much, however long it said it would be."""
    parts: list[bytes] = []
    while True:
        message = await receive()
        if message["type"] == "http.disconnect":
            return b"".join(parts)
        parts.append(message.get("body", b""))
        if sum(map(len, parts)) > MOST_BYTES:
            return None
        if not message.get("more_body", False):
            return b"".join(parts)


def _once(body: bytes, receive: Receive) -> Receive:
    messages = [{"type": "http.request", "body": body, "more_body": False}]

    async def give() -> Message:
        return messages.pop() if messages else await receive()

    return give


def _with_headers(send: Send) -> Send:
    async def pass_on(message: Message) -> None:
        if message["type"] == "http.response.start":
            message["headers"] = [*message.get("headers", ()), *HEADERS]
        await send(message)

    return pass_on
