"""Serves the desk on a socket, and keeps connections few and short. The only file that knows uvicorn.

In: an app and a listening socket. A new connection has not shown the key yet, and every connection takes one of the
files that a process may have open. So their number is limited: if there are too many, the oldest one that has not
shown the key is closed, and the person's own browser always finds a place. A request must be complete within a time
from its first byte (the first request: from connecting), however slowly the rest of it comes. Between requests
uvicorn itself closes a connection after 5 s.
"""

from __future__ import annotations

import asyncio
import socket
from collections.abc import Callable
from typing import Any

import h11
import uvicorn
from uvicorn.protocols.http.h11_impl import H11Protocol

# Chosen: a browser opens six to one host (common practice), and 1,024 open files are the usual limit (setrlimit).
MOST = 128
# Chosen: 64 kB take a moment on any network; a browser may connect a little before it sends a request.
WHOLE_WITHIN_S = 15.0

# How many may connect at once, before any of them is counted: with these too, there are files left to open.
_BACKLOG = 64

# Host and port of the other side, as ASGI names it.
Client = tuple[str, int]


class Connections:
    """The connections that are open, oldest first, and on which of them the key was shown."""

    def __init__(self) -> None:
        """Begin without any."""
        self._open: dict[Client, asyncio.Transport] = {}
        self._let_in: set[Client] = set()

    def let_in(self, client: object) -> None:
        """Note that the key was shown on a connection."""
        self._let_in |= self._open.keys() & {client}

    def begin(self, client: Client, transport: asyncio.Transport) -> None:
        """Note a connection; if there are too many, close the oldest one that has not shown the key."""
        self._open[client] = transport
        if len(self._open) > MOST:
            oldest = next(one for one in self._open if one not in self._let_in)  # the new one, if no other
            self._open.pop(oldest).abort()

    def end(self, client: Client) -> None:
        """Forget a connection."""
        self._open.pop(client, None)
        self._let_in.discard(client)


class _Connection(H11Protocol):
    """One connection, closed if a request does not become whole in time."""

    desks: Connections
    _deadline: asyncio.TimerHandle | None = None

    def connection_made(self, transport: asyncio.Transport) -> None:  # type: ignore[override]
        super().connection_made(transport)
        if self.client is not None:
            self.desks.begin(self.client, transport)
        self._wait()

    def data_received(self, data: bytes) -> None:
        super().data_received(data)
        self._wait()

    def on_response_complete(self) -> None:
        super().on_response_complete()
        if self.conn.trailing_data[0]:
            self._wait()

    def connection_lost(self, exc: Exception | None) -> None:
        self._wait_no_longer()
        if self.client is not None:
            self.desks.end(self.client)
        super().connection_lost(exc)

    def _wait(self) -> None:
        """Set the deadline by which the request must be complete, unless one is set: more bytes do not move it."""
        if self.conn.their_state not in (h11.IDLE, h11.SEND_BODY):
            self._wait_no_longer()
        elif self._deadline is None:
            self._deadline = self.loop.call_later(WHOLE_WITHIN_S, self.transport.abort)

    def _wait_no_longer(self) -> None:
        if self._deadline is not None:
            self._deadline.cancel()
            self._deadline = None


def serve_on(listening: socket.socket, app: Callable[..., Any], connections: Connections) -> None:
    """Serve an app until it is stopped from the keyboard, or by the system."""
    server_of(app, connections).run(sockets=[listening])


def server_of(app: Callable[..., Any], connections: Connections) -> uvicorn.Server:
    """Return the server of an app, not yet running."""
    kind = type("Connection", (_Connection,), {"desks": connections})
    settings = uvicorn.Config(
        app,
        http=kind,
        ws="none",
        loop="asyncio",
        lifespan="off",
        log_level="error",
        access_log=False,
        server_header=False,
        backlog=_BACKLOG,
        timeout_graceful_shutdown=2,
    )
    return uvicorn.Server(settings)
