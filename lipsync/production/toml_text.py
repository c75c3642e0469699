"""Parts of TOML files as text: reads what may be a whole part, and writes single values.

In: text, or a value. Out: what the text holds, or how the value is written.
"""

from __future__ import annotations

from typing import Any

import tomli


def loaded(text: str) -> dict[str, Any] | None:
    """Return what a text holds; None if it is not TOML by itself.

    >>> loaded('frames = 96  # long'), loaded('frames = [')
    ({'frames': 96}, None)
    """
    try:
        return tomli.loads(text)
    except tomli.TOMLDecodeError:
        return None


def written(value: str | int | float) -> str:
    r"""Return a value as TOML writes it, without its key.

    >>> written('The "lamp" room'), written(1.5)
    ('"The \\"lamp\\" room"', '1.5')
    """
    import tomli_w

    return tomli_w.dumps({"v": value}).removeprefix("v = ").rstrip("\n")
