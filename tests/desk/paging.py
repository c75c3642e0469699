"""What tests do with the desk's page in a real browser, and what stands on disk afterwards."""

import tomllib
from collections.abc import Callable
from pathlib import Path
from typing import Any

from tests.desk.conftest import Served

LINE = "020-a"


def kept(folder: Path, line: str = LINE, scene: str = "01-lamp-room") -> dict[str, Any]:
    return tomllib.loads((folder / "breakdowns" / scene / f"{line}.toml").read_text(encoding="utf-8"))


def open_line(opened: Callable[..., Any], desk: Served, line: str = LINE, **settings: Any) -> Any:
    page = opened(desk, f"#/line/{line}", **settings)
    page.wait_for_selector("frame-sheet .row .code:not(:empty)")
    until(page, "document.querySelector('.line-page').player.ready")
    return page


def until(page: Any, script: str, argument: Any = None) -> None:
    """Wait until a script says so; asked from outside, for the page's policy forbids programs made from text."""
    for _ in range(1200):
        if page.evaluate(script, argument):
            return
        page.wait_for_timeout(50)
    raise AssertionError(f"never came true: {script}")


def version_of(page: Any) -> str:
    return str(page.evaluate("document.querySelector('.line-page').model.view.version"))


def saved(page: Any, act: Callable[[], Any]) -> None:
    """Do something, and wait until it is saved."""
    before = version_of(page)
    act()
    until(page, "before => document.querySelector('.line-page').model.view.version !== before", before)


def boundary(page: Any, name: str) -> Any:
    return page.get_by_role("separator", name=name, exact=True)


def at_us(page: Any, name: str) -> int:
    return round(float(boundary(page, name).get_attribute("aria-valuetext").removesuffix(" s")) * 1_000_000)
