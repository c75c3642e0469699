"""An index beside a production's files: what was found out of which files, so that nothing is done twice.

In: a production's folder. Out: the code of a file, without reading an unchanged file again; and results that are kept
under a code of all that they depend on. The index lies in `.lipsync/` of the production and may be deleted at any
time: only the files themselves are trusted. An index that is broken, or of another version of the program, is deleted
here; where it cannot be written, it lasts for the run only.

A file counts as unchanged if its number on the disk (inode), its size and the times of its last change are the same,
and it was not changed within `FRESH_NS` before it was read: two changes so close together may have the same time. No
other time is compared with the clock, so a clock that is set back does no harm.
"""

from __future__ import annotations

import contextlib
import hashlib
import json
import os
import sqlite3
import time
from pathlib import Path
from types import TracebackType
from typing import Any, Self

from lipsync.app.index.own_files import program_state
from lipsync.seen import FRESH_NS, state_of_file

FOLDER, _NAME = ".lipsync", "index.sqlite"
_FORM = "lipsync index 1"
_DIGITS = 24
_WAIT_S = 2.0  # chosen: how long to wait while another program writes the index, before going on without it
_TABLES = (
    "CREATE TABLE IF NOT EXISTS about (program TEXT)",
    "CREATE TABLE IF NOT EXISTS files (path TEXT PRIMARY KEY, state TEXT, code TEXT)",
    "CREATE TABLE IF NOT EXISTS results (kind TEXT, key TEXT, code TEXT, value TEXT, PRIMARY KEY (kind, key))",
)


class ProductionIndex:
    """What is known of a production's files, for one run; used with `with`, it is written at the end."""

    def __init__(self, folder: Path) -> None:
        """Open the index of a production, or begin a new one."""
        self._folder = folder
        self._path = folder / FOLDER / _NAME
        self._files: dict[str, tuple[str, str]] = {}
        self._results: dict[str, dict[str, tuple[str, str]]] = {}
        self._new_files: dict[str, tuple[str, str]] = {}
        self._new_results: dict[tuple[str, str], tuple[str, str]] = {}
        self._looked_at: dict[str, str] = {}
        with contextlib.suppress(sqlite3.Error, OSError):
            self._read()

    def __enter__(self) -> Self:
        """Return the index."""
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        """Write what was found out, also where the run was stopped."""
        self.write()

    def code(self, path: str | Path) -> str:
        """Return the code of a file; empty if it cannot be read. Each file is looked at once in a run."""
        name = _whole_name(path)
        if name not in self._looked_at:
            self._looked_at[name] = self._code(name)
        return self._looked_at[name]

    def look_at(self, production: Path) -> None:
        """Look at the files that people write, before they are read: if they are the same later, these were read."""
        for pattern in ("*.toml", "scenes/*.toml", "mouthsets/*.toml"):
            for path in sorted(production.glob(pattern)):
                self.code(path)

    def note(self, path: Path, code: str) -> None:
        """Set the code of a file to that of what this run has read from it or written to it."""
        self._looked_at[_whole_name(path)] = code

    def noted(self, path: Path) -> str:
        """Return the code of what this run has read from a file or written to it; empty if it has not."""
        return self._looked_at.get(_whole_name(path), "")

    def get(self, kind: str, key: str, code: str) -> Any:
        """Return the result of a kind that was kept under a key, if the code is the same; None if there is none."""
        kept = self._new_results.get((kind, key)) or self._results.get(kind, {}).get(key)
        if kept is None or kept[0] != code:
            return None
        try:
            return json.loads(kept[1])
        except ValueError:
            return None

    def last(self, kind: str, key: str) -> Any:
        """Return the result of a kind that was last kept under a key, whatever it was of; None if there is none."""
        kept = self._new_results.get((kind, key)) or self._results.get(kind, {}).get(key)
        return None if kept is None else self.get(kind, key, kept[0])

    def put(self, kind: str, key: str, code: str, value: Any) -> None:
        """Keep a result, of JSON values, in place of an older one."""
        self._new_results[kind, key] = code, json.dumps(value, ensure_ascii=False, separators=(",", ":"))

    def write(self) -> None:
        """Write what was found out since the last writing; if that fails, it has to be found out again later."""
        if self._new_files or self._new_results:
            try:
                self._write()
            except sqlite3.DatabaseError as error:
                if not isinstance(error, sqlite3.OperationalError):  # an OperationalError is a lock or a full disk
                    self._throw_away()
            except OSError:
                pass

    def _read(self) -> None:
        if not self._path.exists():
            return
        try:
            with contextlib.closing(sqlite3.connect(self._path, timeout=_WAIT_S)) as base:
                if base.execute("SELECT program FROM about").fetchall() != [(f"{_FORM} {program_state()}",)]:
                    raise sqlite3.DatabaseError("of another program")
                files = {path: (state, code) for path, state, code in base.execute("SELECT * FROM files")}
                for kind, key, code, value in base.execute("SELECT * FROM results"):
                    self._results.setdefault(kind, {})[key] = code, value
                self._files = files
        except (sqlite3.DatabaseError, ValueError, TypeError) as error:
            self._files, self._results = {}, {}
            if "locked" not in str(error):
                self._throw_away()

    def _write(self) -> None:
        hidden_folder(self._folder)
        with contextlib.closing(sqlite3.connect(self._path, timeout=_WAIT_S)) as base, base:
            for table in _TABLES:
                base.execute(table)
            own = f"{_FORM} {program_state()}"
            if not (about := base.execute("SELECT program FROM about").fetchall()):
                base.execute("INSERT INTO about VALUES (?)", (own,))
            elif about != [(own,)]:
                return  # another version of the program has begun an index meanwhile
            files = [(path, *kept) for path, kept in self._new_files.items()]
            base.executemany("INSERT OR REPLACE INTO files VALUES (?, ?, ?)", files)
            results = [(*key, *kept) for key, kept in self._new_results.items()]
            base.executemany("INSERT OR REPLACE INTO results VALUES (?, ?, ?, ?)", results)
        for (kind, key), kept in self._new_results.items():
            self._results.setdefault(kind, {})[key] = kept
        self._files |= self._new_files
        self._new_files, self._new_results = {}, {}

    def _throw_away(self) -> None:
        for path in (self._path, self._path.with_name(f"{_NAME}-journal")):
            with contextlib.suppress(OSError):
                path.unlink()

    def _code(self, name: str) -> str:
        try:
            state, changed_ns = state_of_file(name)
            kept = self._new_files.get(name) or self._files.get(name)
            if kept is not None and kept[0] == state:
                return kept[1]
            read_ns = time.time_ns()
            with open(name, "rb") as file:
                code = code_of_bytes(file.read())
            # A file that was changed just now, or by its time in the future, is read again the next time.
            if changed_ns < read_ns - FRESH_NS and state_of_file(name)[0] == state:
                self._new_files[name] = state, code
        except OSError:
            return ""
        return code


def _whole_name(path: str | Path) -> str:
    """Return a file's absolute name; with the links resolved where `..` may stand behind one."""
    name = os.fspath(path)
    return os.path.realpath(name) if ".." in name else os.path.abspath(name)


def hidden_folder(production: Path) -> Path:
    """Return the folder of a production in which the program keeps what may be thrown away, made if need be.

    Raises:
        OSError: if it cannot be made.
    """
    folder = production / FOLDER
    folder.mkdir(exist_ok=True)
    ignored = folder / ".gitignore"
    if not ignored.exists():
        ignored.write_text("*\n", "ascii")  # no version control needs it
    return folder


def code_of_values(*values: object) -> str:
    """Return a code of JSON values; others count by their text."""
    content = json.dumps(values, ensure_ascii=True, separators=(",", ":"), default=str)
    return code_of_bytes(content.encode())[:_DIGITS]


def code_of_bytes(content: bytes) -> str:
    """Return the code of a file with these bytes."""
    return hashlib.sha256(content).hexdigest()
