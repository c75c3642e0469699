"""A scene's file as text that people wrote, amended in place: its remarks, its order and all other entries stay.

In: the text of a scene's file, and what is to change in it, shot by shot and line by line. Out: its text. A file is
cut into blocks at its headings (`[[shot]]`, `[[shot.line]]`, `[shot.characters.heron]`), a block into entries
(`frames = 96  # a remark`), so that what is not named keeps every byte. A remark directly above a heading goes with
the block below it; one that an empty line sets apart stays where it is.

Python's own TOML reader tells where an entry ends: it is the shortest run of whole lines that is TOML by itself. In
its last line, the value ends where the shortest part has the same value and only space or a remark follows.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from functools import cached_property

import tomli

from lipsync.production.toml_text import loaded, written

# A key and its value; None takes the entry out.
Entry = tuple[str, str | int | float | None]

_HEADING = re.compile(r"[ \t]*\[")
_SPACE = re.compile(r"[ \t]*(?:#.*)?(?:\r?\n)?")
_SIMPLE = re.compile(r"""[ \t]*([A-Za-z0-9_-]+)[ \t]*=[ \t]*(?:"(?!"")[^"\\\n]*"|[0-9]+)[ \t]*(?:#[^\n]*)?\r?\n?""")
# The usual order of a block's entries.
_ORDER = {
    "shot": ("id", "frames", "start"),
    "line": ("id", "character", "recording", "in", "out", "text", "begins", "voice_factor"),
}


class InlineTablesError(Exception):
    """The shots are written as lists of inline tables, which are not amended."""


@dataclass(slots=True)
class _TextPart:
    """A part of a block: an entry with its key, or a line without one (empty, a remark or a heading)."""

    text: str
    key: str = ""


@dataclass
class _HeadedText:
    """A block: a heading with the remarks directly above it, and what is written below it.

    Attributes:
        lead: the remarks above the heading, with the empty lines above them.
        heading: the heading's line.
        path: the keys that it names.
        array: whether it begins a row of an array, as `[[shot]]` does.
        parts: what is written below it.
    """

    lead: str = ""
    heading: str = ""
    path: tuple[str, ...] = ()
    array: bool = False
    parts: list[_TextPart] = field(default_factory=list)

    def text(self) -> str:
        return self.lead + self.heading + "".join(part.text for part in self.parts)

    def part(self, key: str) -> _TextPart | None:
        return next((part for part in self.parts if part.key == key), None)

    @cached_property
    def id(self) -> str:
        """The row's id, which is never amended."""
        part = self.part("id")
        return "" if part is None else str(tomli.loads(part.text)["id"])


@dataclass(slots=True)
class _ShotText:
    """A shot's own block with those of its characters, and for each line its block with those below it."""

    own: list[_HeadedText]
    lines: list[list[_HeadedText]] = field(default_factory=list)


class SceneText:
    """The text of a scene's file; its methods amend it, `text()` returns it.

    Raises:
        tomli.TOMLDecodeError: if it is not TOML.
        InlineTablesError: if its shots are lists of inline tables.
    """

    def __init__(self, text: str) -> None:
        self._newline = "\r\n" if "\r\n" in text else "\n"
        self._mark = "\ufeff" if text.startswith("\ufeff") else ""
        text = text.removeprefix("\ufeff")
        tomli.loads(text)
        blocks = _blocks(text)
        if any(part.key == "shot" for part in blocks[0].parts) or any(
            part.key == "line" for block in blocks if block.path == ("shot",) for part in block.parts
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
        block.parts += _apart(before)
        self._shots.insert(place, _ShotText([block]))

    def add_line(self, shot: str, entries: Sequence[Entry], after: str | None) -> None:
        """Add a line to a shot after another of its lines, or before all if None."""
        there = self._shot(shot)
        self._insert(there, [self._new("[[shot.line]]", entries, ("shot", "line"))], after)

    def move_line(self, line: str, shot: str, after: str | None) -> None:
        """Put a line, with its remarks, into another shot."""
        old, place = self._line(line)
        blocks, before = old.lines.pop(place), old.lines[place - 1] if place else old.own
        before[-1].parts += _apart(blocks)
        self._insert(self._shot(shot), blocks, after)

    def drop_line(self, line: str) -> None:
        """Take a line out, with the remarks directly above it and in it."""
        shot, place = self._line(line)
        before = shot.lines[place - 1] if place else shot.own
        before[-1].parts += _apart(shot.lines.pop(place))

    def drop_shot(self, shot: str) -> None:
        """Take a shot out, with its lines."""
        there = self._shot(shot)
        place = self._shots.index(there)
        above = self._shots[place - 1] if place else None
        before = self._top if above is None else (above.lines[-1] if above.lines else above.own)
        before[-1].parts += _apart([*there.own, *(block for line in there.lines for block in line)])
        self._shots.remove(there)

    def _insert(self, shot: _ShotText, blocks: list[_HeadedText], after: str | None) -> None:
        ids = [line[0].id for line in shot.lines]
        place = ids.index(after) + 1 if after in ids else 0
        before = shot.lines[place - 1] if place else shot.own
        self._end(before[-1])
        self._end(blocks[-1])
        blocks[-1].parts += _apart(before)
        shot.lines.insert(place, blocks)

    def _end(self, block: _HeadedText) -> None:
        """Add a line break to a block that does not end with one."""
        if (text := block.text()) and not text.endswith("\n"):
            if block.parts:
                block.parts[-1].text += self._newline
            else:
                block.heading += self._newline

    def _new(self, heading: str, entries: Sequence[Entry], path: tuple[str, ...]) -> _HeadedText:
        end = self._newline
        parts = [_TextPart(f"{key} = {written(value)}{end}", key) for key, value in entries if value is not None]
        return _HeadedText(end, heading + end, path, array=True, parts=parts)

    def _shot(self, shot: str) -> _ShotText:
        return next(one for one in self._shots if one.own[0].id == shot)

    def _line(self, line: str) -> tuple[_ShotText, int]:
        return next((shot, at) for shot in self._shots for at, one in enumerate(shot.lines) if one[0].id == line)

    def _set(self, block: _HeadedText, kind: str, entries: Sequence[Entry]) -> None:
        for key, value in entries:
            part = block.part(key)
            if part is None and value is not None:
                self._add(block, kind, key, value)
            elif part is not None and value is None:
                block.parts.remove(part)
            elif part is not None and value is not None:
                part.text = _with_value(part.text, key, value)

    def _add(self, block: _HeadedText, kind: str, key: str, value: str | int | float) -> None:
        """Add an entry after those that stand before it in the usual order."""
        before = _ORDER[kind][: _ORDER[kind].index(key)]
        places = [at for at, part in enumerate(block.parts) if part.key in before]
        place = places[-1] + 1 if places else 0
        if place and not block.parts[place - 1].text.endswith("\n"):
            block.parts[place - 1].text += self._newline
        block.parts.insert(place, _TextPart(f"{key} = {written(value)}{self._newline}", key))


def new_scene_text(title: str) -> str:
    r"""Return the text of a scene's file without shots.

    >>> new_scene_text('The "lamp" room')
    'title = "The \\"lamp\\" room"\n'
    """
    return f"title = {written(title)}\n"


def _apart(blocks: list[_HeadedText]) -> list[_TextPart]:
    """Take out of blocks what follows their entries after an empty line, and return it for what comes next."""
    found: list[_TextPart] = []
    for block in blocks:
        keyed = [at for at, part in enumerate(block.parts) if part.key]
        first = keyed[-1] + 1 if keyed else 0
        at = next((at for at in range(first, len(block.parts)) if not block.parts[at].text.strip()), None)
        if at is not None:
            found += block.parts[at:]
            del block.parts[at:]
    return found


def _blocks(text: str) -> list[_HeadedText]:
    """Cut a text into blocks; the first has no heading."""
    blocks = [_HeadedText()]
    for part in _parts(text.splitlines(keepends=True)):
        if part.key or not _HEADING.match(part.text):
            blocks[-1].parts.append(part)
            continue
        below = blocks[-1].parts
        lead: list[str] = []
        while below and not below[-1].key and below[-1].text.strip():
            lead.append(below.pop().text)
        path, array = _path_of(part.text)
        gap = ""
        while below and not below[-1].key and not below[-1].text.strip():
            gap = below.pop().text + gap
        blocks.append(_HeadedText(gap + "".join(reversed(lead)), part.text, path, array))
    return blocks


def _parts(lines: list[str]) -> Iterator[_TextPart]:
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
        while (table := loaded("".join(lines[at:end]))) is None:
            end += 1
        yield _TextPart("".join(lines[at:end]), next(iter(table)))
        at = end


def _path_of(heading: str) -> tuple[tuple[str, ...], bool]:
    """Return the keys that a heading names, and whether it begins a row of an array."""
    path, below = [], tomli.loads(heading)
    while isinstance(below, dict) and below:
        key, value = next(iter(below.items()))
        path.append(key)
        array = isinstance(value, list)
        below = value[0] if array else value
    return tuple(path), array


def _with_value(text: str, key: str, value: str | int | float) -> str:
    """Return an entry with another value; spaces and remark around it stay."""
    old = tomli.loads(text)[key]
    start = text.index("=") + 1
    start += len(text[start:]) - len(text[start:].lstrip(" \t"))
    for found in re.finditer(r"[ \t]*(?:#|\r?\n|$)", text):
        table = loaded(text[: found.start()]) if found.start() > start else None
        if table is not None and table.get(key) == old and _SPACE.fullmatch(text[found.start() :]):
            return text[:start] + written(value) + text[found.start() :]
    raise AssertionError(f"no end of the value in {text!r}")  # cannot be: space or a remark ends every entry
