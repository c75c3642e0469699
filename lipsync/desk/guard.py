"""Who may ask the desk: judged before anything else looks at a request.

In: a request (ASGI, the interface between Python's web servers and programs). Out: the request, if it may pass; else
a refusal in one sentence. Rules, and what each keeps out:

    the Host header names this desk                a page that makes its own name point to this machine
    the Origin, where there is one, is this desk   pages from elsewhere; for every change there must be one
    Sec-Fetch-Site, where there is one             the same, for requests that carry no Origin
    the cookie holds this start's secret           all who were not let in; `/open/TOKEN` gives it, once for a token
    what is sent is JSON and not large             forms of other pages; memory filled from outside

A token opens one browser and is spent; another one is then made, and told to the person at the terminal.
"""

from __future__ import annotations

import hmac
import json
import secrets
from collections.abc import Awaitable, Callable, MutableMapping
from dataclasses import dataclass, field
from http.cookies import CookieError, SimpleCookie
from typing import Any

Scope = MutableMapping[str, Any]
Message = MutableMapping[str, Any]
Receive = Callable[[], Awaitable[Message]]
Send = Callable[[Message], Awaitable[None]]
App = Callable[[Scope, Receive, Send], Awaitable[None]]

# The longest that anyone has to say: a pronunciation and a text are far shorter (chosen).
MOST_BYTES = 64 * 1024

_READING = ("GET", "HEAD")

# Nothing is loaded from elsewhere, nothing is framed, and no text of a production becomes a program.
_POLICY = (
    "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self' data: blob:; font-src 'self'; "
    "connect-src 'self'; media-src 'self' blob:; base-uri 'none'; form-action 'none'; frame-ancestors 'none'"
)
HEADERS = (
    (b"content-security-policy", _POLICY.encode()),
    (b"x-content-type-options", b"nosniff"),
    (b"referrer-policy", b"no-referrer"),
    (b"cross-origin-resource-policy", b"same-origin"),
    (b"cross-origin-opener-policy", b"same-origin"),
)


@dataclass(slots=True)
class Pass:
    """This start's secret, and the token that opens the next browser.

    Attributes:
        port: the desk's port; cookies are shared between ports, so the cookie's name carries it.
        hosts: what a Host header may say.
        told: called with a new token once the last one is spent.
    """

    port: int
    hosts: frozenset[str]
    told: Callable[[str], None]
    secret: str = field(default_factory=lambda: secrets.token_urlsafe(32))
    token: str = field(default_factory=lambda: secrets.token_urlsafe(24))

    @property
    def cookie(self) -> str:
        """The cookie's name."""
        return f"lipsync-desk-{self.port}"

    def spend(self, token: str) -> bool:
        """Return whether a token opens the desk; it does so once."""
        if not hmac.compare_digest(token.encode(), self.token.encode()):
            return False
        self.token = secrets.token_urlsafe(24)
        self.told(self.token)
        return True

    def holds(self, cookies: str) -> bool:
        """Return whether a Cookie header holds this start's secret."""
        try:
            found = SimpleCookie(cookies).get(self.cookie)
        except CookieError:
            return False
        return found is not None and hmac.compare_digest(found.value.encode(), self.secret.encode())


class Guard:
    """Lets requests through to the app, or refuses them."""

    def __init__(self, app: App, entry: Pass) -> None:
        """Guard `app` by the rules, with the secrets of `entry`."""
        self._app, self._pass = app, entry

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Answer a request."""
        if scope["type"] != "http":
            return
        headers: dict[str, str] = {}
        for name, value in scope["headers"]:
            # A header that stands there twice is no browser's; the sum of both is none that is allowed.
            key = name.decode("latin-1").lower()
            headers[key] = f"{headers[key]}, {value.decode('latin-1')}" if key in headers else value.decode("latin-1")
        if refusal := self._refusal(scope["method"], scope["path"], headers):
            await _refuse(send, *refusal)
            return
        if scope["path"].startswith("/open/") and scope["method"] == "GET":
            await self._open(scope["path"].removeprefix("/open/"), send)
            return
        if not self._pass.holds(headers.get("cookie", "")):
            await _refuse(send, 401, "this browser has not been let in; open the address that the terminal shows")
            return
        body = await _body(receive) if scope["method"] not in _READING else b""
        if body is None:
            await _refuse(send, 413, f"more than {MOST_BYTES} bytes were sent; nothing was done")
            return
        await self._app(scope, _once(body, receive), _with_headers(send))

    def _refusal(self, method: str, path: str, headers: dict[str, str]) -> tuple[int, str] | None:
        if headers.get("host", "").lower() not in self._pass.hosts:
            return 421, "this is not the address of the desk; open the one that the terminal shows"
        origin = headers.get("origin")
        own = {f"http://{host}" for host in self._pass.hosts}
        if (origin is not None and origin.lower() not in own) or (origin is None and method not in _READING):
            return 403, "only the desk's own page may ask that"
        entering = path == "/" or path.startswith("/open/")
        if headers.get("sec-fetch-site", "none") not in ("none", "same-origin") and not entering:
            return 403, "only the desk's own page may ask that"
        if method in _READING:
            return None
        if headers.get("content-type", "").partition(";")[0].strip().lower() != "application/json":
            return 415, "send JSON"
        length = headers.get("content-length", "0")
        if not length.isascii() or not length.isdigit() or len(length) > 12 or int(length) > MOST_BYTES:
            return 413, f"more than {MOST_BYTES} bytes were sent; nothing was done"
        return None

    async def _open(self, token: str, send: Send) -> None:
        if not self._pass.spend(token):
            await _refuse(send, 401, "this address has been used already, or is of another start; see the terminal")
            return
        cookie = f"{self._pass.cookie}={self._pass.secret}; Path=/; HttpOnly; SameSite=Strict"
        headers = [(b"location", b"/"), (b"set-cookie", cookie.encode()), (b"cache-control", b"no-store"), *HEADERS]
        await send({"type": "http.response.start", "status": 303, "headers": headers})
        await send({"type": "http.response.body", "body": b""})


async def _refuse(send: Send, status: int, reason: str) -> None:
    body = json.dumps({"error": reason}).encode()
    headers = [
        (b"content-type", b"application/json"),
        (b"content-length", str(len(body)).encode()),
        (b"cache-control", b"no-store"),
        (b"connection", b"close"),
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
