"""Hands the desk's address to a browser without showing it to anyone else on the machine.

In: the address, with its token. Out: a file that only its owner can read, with a page that leads to the address. The
browser is started with the name of this file, and not with the address: a command line can be read by every user of a
machine. The file is removed when the token has been used, and at the end.

The file's folder is in the person's home, because browsers that run in a sandbox may read there (but neither in /tmp
nor in hidden folders); if that fails, it is where temporary files are. On Windows that folder belongs to the person,
and file modes mean nothing.
"""

from __future__ import annotations

import contextlib
import html
import os
import shutil
import stat
import sys
import tempfile
import time
import webbrowser
from collections.abc import Callable, Iterator
from pathlib import Path

_PREFIX, _NAME = "lipsync-desk-", "open-the-desk.html"
_LEFT_BEHIND_S = 3600  # chosen: a browser reads the file at once; what is older was left by a killed desk

_PAGE = """<!doctype html>
<html lang="en">
<meta charset="utf-8">
<meta name="referrer" content="no-referrer">
<meta http-equiv="refresh" content="0; url={address}">
<title>Listening desk</title>
<p><a href="{address}">Open the listening desk</a></p>
</html>
"""


class OpeningPage:
    """A page that leads to an address, as long as it is needed.

    Attributes:
        file: the page; None where no private file can be made, or it is removed.
    """

    def __init__(self, address: str) -> None:
        """Write the page."""
        self.file = _written(_PAGE.format(address=html.escape(address, quote=True)))

    def opened(self, browse: Callable[[str], bool] = webbrowser.open) -> bool:
        """Return whether a browser could be started with it."""
        if self.file is None:
            return False
        try:
            return browse(self.file.as_uri())
        except webbrowser.Error:
            return False

    def remove(self) -> None:
        """Remove the page; it may be called again."""
        if self.file is not None:
            shutil.rmtree(self.file.parent, ignore_errors=True)
            self.file = None


def _written(page: str) -> Path | None:
    for place in _places():
        try:
            _clear(place)
            folder = Path(tempfile.mkdtemp(prefix=_PREFIX, dir=place))  # made with mode 0700
        except OSError:
            continue
        try:
            file = folder / _NAME
            descriptor = os.open(file, os.O_WRONLY | os.O_CREAT | os.O_EXCL, 0o600)
            with os.fdopen(descriptor, "w", encoding="utf-8") as opened:
                # The mode is checked before anything is written: some disks (FAT, network shares) have no modes.
                if _private(folder) and _private(file):
                    opened.write(page)
                    return file
        except OSError:
            pass
        shutil.rmtree(folder, ignore_errors=True)
    return None


def _places() -> Iterator[Path]:
    if sys.platform != "win32":
        with contextlib.suppress(RuntimeError):  # a user without a home
            yield Path.home()
    yield Path(tempfile.gettempdir())


def _private(path: Path) -> bool:
    if sys.platform == "win32":
        return True
    found = path.stat()
    return found.st_uid == os.geteuid() and not stat.S_IMODE(found.st_mode) & 0o077


def _clear(place: Path) -> None:
    """Remove what killed desks left."""
    for folder in place.glob(f"{_PREFIX}*"):
        try:
            old = time.time() - folder.lstat().st_mtime > _LEFT_BEHIND_S
            if old and folder.is_dir() and not folder.is_symlink() and _private(folder):
                (folder / _NAME).unlink(missing_ok=True)
                folder.rmdir()  # it fails, and nothing is lost, if there is any other file
        except OSError:
            continue
