"""Takes a port, serves the desk on it until it is stopped, and says where it is.

In: a desk and where to serve it. Out: sentences through `say`. The desk is for this machine only unless another
address is asked for. The only file that knows uvicorn.
"""

from __future__ import annotations

import errno
import ipaddress
import os
import socket
import webbrowser
from collections.abc import Callable
from dataclasses import dataclass

import uvicorn

from lipsync.desk.app import app_of
from lipsync.desk.desk import Desk
from lipsync.desk.guard import Guard, Pass
from lipsync.errors import InputError

LOOPBACK = "127.0.0.1"
FIRST_PORT = 8650  # chosen: unassigned in the registry of service names and ports (IANA), from memory
_TRIED_PORTS = 50

Say = Callable[[str], None]


@dataclass(frozen=True, slots=True)
class DeskAddress:
    """Where the desk is served.

    Attributes:
        address: the address to listen at.
        port: the port to try first; None for the usual one. The next ones follow if it is in use.
        browser: whether to open a browser.
    """

    address: str = LOOPBACK
    port: int | None = None
    browser: bool = True


def serve(desk: Desk, place: DeskAddress, say: Say) -> None:
    """Serve the desk until it is stopped from the keyboard.

    Raises:
        InputError: if the address is none of this machine's, or no port is free.
    """
    listening, port = _taken(place, say)
    with listening:
        entry = Pass(port, _hosts(place.address, port), lambda token: say(_another(place, port, token)))
        address = _address(place, port, entry.token)
        if not _is_loopback(place.address):
            say(
                "Take care: other machines can reach the desk at this address. Whoever opens it first can hear and "
                "change every line; what is sent is not encrypted. Use it only on a network that you trust."
            )
        say(f"The desk is at {address}")
        say("This address opens one browser. Stop the desk with Ctrl+C.")
        if place.browser and not _opened(address):
            say("No browser could be opened here; open that address in one yourself.")
        desk.start_reading()
        try:
            _server(Guard(app_of(desk), entry)).run(sockets=[listening])
        finally:
            desk.close()


def _server(app: Guard) -> uvicorn.Server:
    return uvicorn.Server(
        uvicorn.Config(
            app,
            http="h11",
            ws="none",
            loop="asyncio",
            lifespan="off",
            log_level="error",
            access_log=False,
            server_header=False,
            timeout_graceful_shutdown=2,
        )
    )


def _taken(place: DeskAddress, say: Say) -> tuple[socket.socket, int]:
    """Return a listening socket and its port: the first that is free."""
    first = FIRST_PORT if place.port is None else place.port
    for port in range(first, min(first + _TRIED_PORTS, 65_536)):
        try:
            taken = _socket(place.address, port)
        except OSError as error:
            if error.errno != errno.EADDRINUSE:
                raise InputError.one(
                    "",
                    "--address",
                    f"{place.address!r} cannot be used ({error.strerror}); name one of this machine's",
                ) from None
            continue
        if port != first:
            say(f"Port {first} is in use; the desk takes {port}.")
        return taken, taken.getsockname()[1]
    last = min(first + _TRIED_PORTS, 65_536) - 1
    raise InputError.one("", "--port", f"ports {first} to {last} are all in use; name another")


def _socket(address: str, port: int) -> socket.socket:
    family = socket.AF_INET6 if ":" in address else socket.AF_INET
    made = socket.socket(family, socket.SOCK_STREAM)
    try:
        if os.name == "posix":
            # A desk that ended a moment ago leaves its port again; elsewhere this would let two listen at one port.
            made.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
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
    """Return the address as a browser on this machine, or on another, writes it."""
    if address in ("0.0.0.0", "::"):
        return _own_address(address)
    return f"[{address}]" if ":" in address else address


def _own_address(address: str) -> str:
    """Return the address that other machines have for this one; asking a socket for it sends nothing anywhere."""
    family, far = (socket.AF_INET6, "2001:db8::1") if ":" in address else (socket.AF_INET, "192.0.2.1")
    with socket.socket(family, socket.SOCK_DGRAM) as asked:
        try:
            asked.connect((far, 9))  # addresses kept for examples, which nobody has (RFC 5737, RFC 3849)
            found = str(asked.getsockname()[0])
        except OSError:
            return socket.gethostname()
    return f"[{found}]" if ":" in found else found


def _hosts(address: str, port: int) -> frozenset[str]:
    """Return what the Host header may say; an address of all networks has the names of each of them."""
    names = {_shown(address)}
    if _is_loopback(address) or address in ("0.0.0.0", "::"):
        names |= {LOOPBACK, "localhost"}
    return frozenset(f"{name}:{port}".lower() for name in names)


def _address(place: DeskAddress, port: int, token: str) -> str:
    return f"http://{_shown(place.address)}:{port}/open/{token}"


def _another(place: DeskAddress, port: int, token: str) -> str:
    return f"A browser has opened the desk. For another one: {_address(place, port, token)}"


def _opened(address: str) -> bool:
    try:
        return webbrowser.open(address)
    except webbrowser.Error:
        return False
