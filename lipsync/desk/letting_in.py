"""What lets a browser in: a token that can be used once, and the secrets that the browser gets for it.

The token is in the address behind `#`, a part that no browser sends. The page reads it there, and sends it once, as
JSON, to `/api/open`. In return the page gets two secrets of this start, and keeps both in its own storage. It sends
`key` with each request as `Authorization: Bearer KEY` (RFC 6750, 2.1). Before it sends a change, it asks the desk for
`proof` (`/api/still`): so no change is sent to another program that listens at the port after the desk has ended.

No cookie is set. Cookies go to every port of a host (RFC 6265, 8.5: they "do not provide isolation by port"), also
those with the prefix `__Host-`; and a host name of the desk's own below `.localhost` is not known to every browser,
and leads to ::1 as well as 127.0.0.1, where someone else may listen at the same port. What a page stores is its
origin's alone, and the port is a part of that (RFC 6454, 4); and no browser sends a header of this kind by itself.
"""

from __future__ import annotations

import hmac
import secrets
from collections.abc import Callable
from dataclasses import dataclass, field

_BEARER = "bearer "


@dataclass(slots=True)
class Pass:
    """This start's secrets, and the token that opens the next browser.

    Attributes:
        hosts: what a Host header may say.
        told: called with a new token when the last one has been used.
    """

    hosts: frozenset[str]
    told: Callable[[str], None]
    key: str = field(default_factory=lambda: secrets.token_urlsafe(32))
    proof: str = field(default_factory=lambda: secrets.token_urlsafe(32))
    token: str = field(default_factory=lambda: secrets.token_urlsafe(24))

    def spend(self, token: str) -> bool:
        """Return whether a token opens the desk; it does so once."""
        if not _same(token, self.token):
            return False
        self.token = secrets.token_urlsafe(24)
        self.told(self.token)
        return True

    def holds(self, authorization: str) -> bool:
        """Return whether an Authorization header holds this start's key."""
        scheme, key = authorization[: len(_BEARER)], authorization[len(_BEARER) :]
        return scheme.lower() == _BEARER and _same(key, self.key)


def _same(told: str, true: str) -> bool:
    """Return whether two texts are equal, in a time that does not depend on how much of them is equal."""
    return hmac.compare_digest(told.encode("utf-8", "surrogatepass"), true.encode())
