"""A scene's file as text that people wrote, amended in place: remarks, order and spelling of all else stay.

In: the text of a scene's file, and what is to change in it, shot by shot and line by line. Out: its text. A file is
cut into blocks at its headings (`[[shot]]`, `[[shot.line]]`, `[shot.characters.heron]`), a block into entries
(`frames = 96  # a remark`), so that what is not named keeps every byte. A remark directly above a heading goes with
the block below it; one that an empty line sets apart stays where it is.

Where an entry ends is asked of Python's own TOML reader, entry by entry: the shortest run of whole lines that is
TOML by itself, and of its last line the shortest part with the same value before a remark.
"""

from __future__ import annotations

import re
import tomllib
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from functools import cached_property
from typing import Any

# A value, or None to take the entry out.
Entry = tuple[str, str | int | float | None]

_HEADING = re.compile(r"[ \t]*\[")
_SPACE = re.compile(r"[ \t]*(?:#.*)?(?:\r?\n)?")
_SIMPLE = re.compile(r"""[ \t]*([A-Za-z0-9_-]+)[ \t]*=[ \t]*(?:"(?!"")[^"\\\n]*"|[0-9]+)[ \t]*(?:#[^\n]*)?\r?\n?""")
_ORDER = {
    "shot": ("id", "frames", "start"),
    "line": ("id", "character", "recording", "in", "out", "text", "begins", "voice_factor"),
}


class InlineTablesError(Exception):
    """The shots are written as lists of inline tables, which are not amended."""


@dataclass(slots=True)
class _TextPart:
    """A part of a block: an entry with its key, or lines that say nothing."""

    text: str
    key: str = ""


@dataclass
class _HeadedText:
    """A heading with the remarks directly above it, and what is written below it."""

    lead: str = ""
    heading: str = ""
    path: tuple[str, ...] = ()
    array: bool = False
    pieces: list[_TextPart] = field(default_factory=list)

    def text(self) -> str:
        return self.lead + self.heading + "".join(piece.text for piece in self.pieces)

    def piece(self, key: str) -> _TextPart | None:
        return next((piece for piece in self.pieces if piece.key == key), None)

    @cached_property
    def id(self) -> str:
        """The row's id, which is never amended."""
        piece = self.piece("id")
        return "" if piece is None else str(tomllib.loads(piece.text)["id"])


@dataclass(slots=True)
class _ShotText:
    """A shot's block, with those of its characters, and the blocks of its lines, each with what is below it."""

    own: list[_HeadedText]
    lines: list[list[_HeadedText]] = field(default_factory=list)


class SceneText:
    """The text of a scene's file; its methods amend it, `text()` returns it.

    Raises:
        tomllib.TOMLDecodeError: if it is not TOML.
        InlineTablesError: if its shots are lists of inline tables.
    """

    def __init__(self, text: str) -> None:
        self._newline = "\r\n" if "\r\n" in text else "\n"
        self._mark = "\ufeff" if text.startswith("\ufeff") else ""
        text = text.removeprefix("\ufeff")
        tomllib.loads(text)
        blocks = _blocks(text)
        if any(piece.key == "shot" for piece in blocks[0].pieces) or any(
            piece.key == "line" for block in blocks if block.path == ("shot",) for piece in block.pieces
        ):
            raise InlineTablesError
        self._top = [blocks[0]]
        self._shots: list[_ShotText] = []
        for block in blocks[1:]:
            if block.path == ("shot",) and block.array:
                self._shots.append(_ShotText([block]))
            elif not self._shots:
                self._top.append(block)
            elif block.path == ("shot", "line") and block.array:
                self._shots[-1].lines.append([block])
            elif self._shots[-1].lines:
                self._shots[-1].lines[-1].append(block)
            else:
                self._shots[-1].own.append(block)

    def text(self) -> str:
        """Return the file's text."""
        texts = [block.text() for block in self._top]
        for shot in self._shots:
            texts += [block.text() for block in shot.own]
            texts += [block.text() for line in shot.lines for block in line]
        return self._mark + "".join(texts)

    def set_shot(self, shot: str, entries: Sequence[Entry]) -> None:
        """Set or take out entries of a shot."""
        self._set(self._shot(shot).own[0], "shot", entries)

    def set_line(self, line: str, entries: Sequence[Entry]) -> None:
        """Set or take out entries of a line."""
        shot, place = self._line(line)
        self._set(shot.lines[place][0], "line", entries)

    def add_shot(self, entries: Sequence[Entry], after: str | None) -> None:
        """Add a shot after another, or before all if None."""
        place = 0 if after is None else self._shots.index(self._shot(after)) + 1
        above = self._shots[place - 1] if place else None
        before = self._top if above is None else (above.lines[-1] if above.lines else above.own)
        self._end(before[-1])
        block = self._new("[[shot]]", entries, ("shot",))
        block.pieces += _apart(before)
        self._shots.insert(place, _ShotText([block]))

    def add_line(self, shot: str, entries: Sequence[Entry], after: str | None) -> None:
        """Add a line to a shot after another of its lines, or before all if None."""
        there = self._shot(shot)
        self._insert(there, [self._new("[[shot.line]]", entries, ("shot", "line"))], after)

    def move_line(self, line: str, shot: str, after: str | None) -> None:
        """Put a line, with its remarks, into another shot."""
        old, place = self._line(line)
        blocks, before = old.lines.pop(place), old.lines[place - 1] if place else old.own
        before[-1].pieces += _apart(blocks)
        self._insert(self._shot(shot), blocks, after)

    def drop_line(self, line: str) -> None:
        """Take a line out, with the remarks directly above it and in it."""
        shot, place = self._line(line)
        before = shot.lines[place - 1] if place else shot.own
        before[-1].pieces += _apart(shot.lines.pop(place))

    def drop_shot(self, shot: str) -> None:
        """Take a shot out, with its lines."""
        there = self._shot(shot)
        place = self._shots.index(there)
        above = self._shots[place - 1] if place else None
        before = self._top if above is None else (above.lines[-1] if above.lines else above.own)
        before[-1].pieces += _apart([*there.own, *(block for line in there.lines for block in line)])
        self._shots.remove(there)

    def _insert(self, shot: _ShotText, blocks: list[_HeadedText], after: str | None) -> None:
        ids = [line[0].id for line in shot.lines]
        place = ids.index(after) + 1 if after in ids else 0
        before = shot.lines[place - 1] if place else shot.own
        self._end(before[-1])
        self._end(blocks[-1])
        blocks[-1].pieces += _apart(before)
        shot.lines.insert(place, blocks)

    def _end(self, block: _HeadedText) -> None:
        """Let a block end with a whole line."""
        if (text := block.text()) and not text.endswith("\n"):
            if block.pieces:
                block.pieces[-1].text += self._newline
            else:
                block.heading += self._newline

    def _new(self, heading: str, entries: Sequence[Entry], path: tuple[str, ...]) -> _HeadedText:
        end = self._newline
        pieces = [_TextPart(f"{key} = {_written(value)}{end}", key) for key, value in entries if value is not None]
        return _HeadedText(end, heading + end, path, array=True, pieces=pieces)

    def _shot(self, shot: str) -> _ShotText:
        return next(one for one in self._shots if one.own[0].id == shot)

    def _line(self, line: str) -> tuple[_ShotText, int]:
        return next((shot, at) for shot in self._shots for at, one in enumerate(shot.lines) if one[0].id == line)

    def _set(self, block: _HeadedText, kind: str, entries: Sequence[Entry]) -> None:
        for key, value in entries:
            piece = block.piece(key)
            if piece is None and value is not None:
                self._add(block, kind, key, value)
            elif piece is not None and value is None:
                block.pieces.remove(piece)
            elif piece is not None and value is not None:
                piece.text = _with_value(piece.text, key, value)

    def _add(self, block: _HeadedText, kind: str, key: str, value: str | int | float) -> None:
        """Add an entry after those that stand before it by custom."""
        before = _ORDER[kind][: _ORDER[kind].index(key)]
        places = [at for at, piece in enumerate(block.pieces) if piece.key in before]
        place = places[-1] + 1 if places else 0
        if place and not block.pieces[place - 1].text.endswith("\n"):
            block.pieces[place - 1].text += self._newline
        block.pieces.insert(place, _TextPart(f"{key} = {_written(value)}{self._newline}", key))


def new_scene_text(title: str) -> str:
    r"""Return the text of a scene's file without shots.

    >>> new_scene_text('The "lamp" room')
    'title = "The \\"lamp\\" room"\n'
    """
    return f"title = {_written(title)}\n"


def _apart(blocks: list[_HeadedText]) -> list[_TextPart]:
    """Take out of blocks what stands below their entries behind an empty line: it is of what comes next."""
    found: list[_TextPart] = []
    for block in blocks:
        keyed = [at for at, piece in enumerate(block.pieces) if piece.key]
        first = keyed[-1] + 1 if keyed else 0
        at = next((at for at in range(first, len(block.pieces)) if not block.pieces[at].text.strip()), None)
        if at is not None:
            found += block.pieces[at:]
            del block.pieces[at:]
    return found


def _blocks(text: str) -> list[_HeadedText]:
    """Cut a text into blocks; the first has no heading."""
    blocks = [_HeadedText()]
    for piece in _pieces(text.splitlines(keepends=True)):
        if piece.key or not _HEADING.match(piece.text):
            blocks[-1].pieces.append(piece)
            continue
        below = blocks[-1].pieces
        lead: list[str] = []
        while below and not below[-1].key and below[-1].text.strip():
            lead.append(below.pop().text)
        path, array = _path_of(piece.text)
        gap = ""
        while below and not below[-1].key and not below[-1].text.strip():
            gap = below.pop().text + gap
        blocks.append(_HeadedText(gap + "".join(reversed(lead)), piece.text, path, array))
    return blocks


def _pieces(lines: list[str]) -> Iterator[_TextPart]:
    at = 0
    while at < len(lines):
        line = lines[at]
        if _SPACE.fullmatch(line) or _HEADING.match(line):
            yield _TextPart(line)
            at += 1
            continue
        if found := _SIMPLE.fullmatch(line):
            yield _TextPart(line, found[1])
            at += 1
            continue
        end = at + 1
        while (table := _loaded("".join(lines[at:end]))) is None:
            end += 1
        yield _TextPart("".join(lines[at:end]), next(iter(table)))
        at = end


def _loaded(text: str) -> dict[str, Any] | None:
    try:
        return tomllib.loads(text)
    except tomllib.TOMLDecodeError:
        return None


def _path_of(heading: str) -> tuple[tuple[str, ...], bool]:
    """Return the keys that a heading names, and whether it begins a row."""
    path, below = [], tomllib.loads(heading)
    while isinstance(below, dict) and below:
        key, value = next(iter(below.items()))
        path.append(key)
        array = isinstance(value, list)
        below = value[0] if array else value
    return tuple(path), array


def _with_value(text: str, key: str, value: str | int | float) -> str:
    """Return an entry with another value; spaces and remark around it stay."""
    old = tomllib.loads(text)[key]
    start = text.index("=") + 1
    start += len(text[start:]) - len(text[start:].lstrip(" \t"))
    for found in re.finditer(r"[ \t]*(?:#|\r?\n|$)", text):
        table = _loaded(text[: found.start()]) if found.start() > start else None
        if table is not None and table.get(key) == old and _SPACE.fullmatch(text[found.start() :]):
            return text[:start] + _written(value) + text[found.start() :]
    raise AssertionError(f"no end of the value in {text!r}")  # an entry ends with space or a remark


def _written(value: str | int | float) -> str:
    """Return a value as TOML: what tomli_w writes, without its key."""
    import tomli_w

    return tomli_w.dumps({"v": value}).removeprefix("v = ").rstrip("\n")
