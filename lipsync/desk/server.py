"""Takes a port, serves the desk on it until it is stopped, and says where it is.

In: a desk and where to serve it. Out: sentences through `say`. The desk is for this machine only unless another
address is asked for.
"""

from __future__ import annotations

import contextlib
import errno
import ipaddress
import os
import signal
import socket
from collections.abc import Callable, Iterator
from dataclasses import dataclass

from lipsync.desk.app import app_of
from lipsync.desk.connections import Connections, serve_on
from lipsync.desk.desk import Desk
from lipsync.desk.guard import Guard
from lipsync.desk.letting_in import Pass
from lipsync.desk.opening_page import OpeningPage
from lipsync.errors import InputError
from lipsync.message import Where

LOOPBACK = "127.0.0.1"
FIRST_PORT = 8650  # chosen: unassigned in the registry of service names and ports (IANA), from memory
_TRIED_PORTS = 50

Say = Callable[[str], None]


@dataclass(frozen=True, slots=True)
class DeskAddress:
    """Where the desk is served.

    Attributes:
        address: the address to listen at.
        port: the port to try first; None for the usual one. If it is in use, the next ones are tried.
        browser: whether to open a browser.
    """

    address: str = LOOPBACK
    port: int | None = None
    browser: bool = True


def serve(desk: Desk, place: DeskAddress, say: Say) -> None:
    """Serve the desk until it is stopped from the keyboard.

    Raises:
        InputError: if the address does not belong to this machine, or no port is free.
    """
    listening, port = _taken(place, say)
    with listening, _ending_in_order(), contextlib.ExitStack() as at_end:
        shown, hosts = _shown(listening.getsockname()[0]), _hosts(place.address, listening)
        opening_page: OpeningPage | None = None

        def another(token: str) -> None:
            if opening_page is not None:
                opening_page.remove()
            say(f"A browser has opened the desk. For another one: {_address(shown, port, token)}")

        way_in, connections = Pass(hosts, another), Connections()
        address = _address(shown, port, way_in.token)
        if not _is_loopback(place.address):
            say(
                "Take care: other machines can reach the desk at this address. Whoever opens it first can hear and "
                "change every line; what is sent is not encrypted. Use it only on a network that you trust."
            )
        say(f"The desk is at {address}")
        say("This address opens one browser. Stop the desk with Ctrl+C.")
        at_end.callback(desk.close)
        desk.start_reading()
        if place.browser:
            opening_page = OpeningPage(address)
            at_end.callback(opening_page.remove)
            if not opening_page.opened():
                say("No browser could be opened here; open that address in one yourself.")
        serve_on(listening, Guard(app_of(desk), way_in, connections.let_in), connections)


@contextlib.contextmanager
def _ending_in_order() -> Iterator[None]:
    """Turn signals that end the desk, such as that of a closed terminal, into an exit that cleans up."""

    def end(number: int, _frame: object) -> None:
        raise SystemExit(128 + number)  # the exit code that shells use

    numbers = [number for name in ("SIGTERM", "SIGHUP") if (number := getattr(signal, name, None)) is not None]
    before = {number: signal.signal(number, end) for number in numbers}
    try:
        yield
    finally:
        for number, handler in before.items():
            signal.signal(number, handler)


def _taken(place: DeskAddress, say: Say) -> tuple[socket.socket, int]:
    """Return a listening socket and its port: the first that is free."""
    first = FIRST_PORT if place.port is None else place.port
    for port in range(first, min(first + _TRIED_PORTS, 65_536)):
        try:
            taken = _socket(place.address, port)
        except OSError as error:
            if error.errno != errno.EADDRINUSE:
                where = Where(place="--address")
                raise InputError.of(
                    "address not usable", where, address=place.address, reason=error.strerror
                ) from None
            continue
        if port != first:
            say(f"Port {first} is in use; the desk takes {port}.")
        return taken, taken.getsockname()[1]
    last = min(first + _TRIED_PORTS, 65_536) - 1
    raise InputError.of("ports in use", Where(place="--port"), first=first, last=last)


def _socket(address: str, port: int) -> socket.socket:
    family = socket.AF_INET6 if ":" in address else socket.AF_INET
    made = socket.socket(family, socket.SOCK_STREAM)
    try:
        if os.name == "posix":
            # So the port of a desk that ended a moment ago can be used again. Not on Windows: two could listen at it.
            made.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
        elif hasattr(socket, "SO_EXCLUSIVEADDRUSE"):
            made.setsockopt(socket.SOL_SOCKET, socket.SO_EXCLUSIVEADDRUSE, 1)
        made.bind((address, port))
        made.listen(64)
    except OSError:
        made.close()
        raise
    return made


def _is_loopback(address: str) -> bool:
    try:
        return ipaddress.ip_address(address).is_loopback
    except ValueError:
        return address == "localhost"


def _shown(address: str) -> str:
    """Return the address in the form that a browser on this machine, or on another, needs."""
    if address in ("0.0.0.0", "::"):
        return _own_address(address)
    return f"[{address}]" if ":" in address else address


def _own_address(address: str) -> str:
    """Return this machine's address as other machines know it; asking a socket for it sends nothing anywhere."""
    family, far = (socket.AF_INET6, "2001:db8::1") if ":" in address else (socket.AF_INET, "192.0.2.1")
    with socket.socket(family, socket.SOCK_DGRAM) as asked:
        try:
            asked.connect((far, 9))  # addresses reserved for documentation, which nobody has (RFC 5737, RFC 3849)
            found = str(asked.getsockname()[0])
        except OSError:
            return socket.gethostname()
    return f"[{found}]" if ":" in found else found


def _hosts(asked: str, listening: socket.socket) -> frozenset[str]:
    """Return the values that the Host header may have; if the desk listens on all networks, those of each network.

    `localhost` is not among them: a browser may go to ::1 for it, where someone else may listen at the same port.
    """
    address, port = listening.getsockname()[:2]
    names = {_shown(address)}
    if address in ("0.0.0.0", "::"):
        names.add(LOOPBACK)
    elif not _is_loopback(asked):
        names.add(_shown(asked))
    return frozenset(f"{name}:{port}".lower() for name in names)


def _address(shown: str, port: int, token: str) -> str:
    """Return the address with a token behind `#`: browsers send and log nothing of that part."""
    return f"http://{shown}:{port}/#/open/{token}"
