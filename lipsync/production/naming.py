"""Scenes, shots and characters found by what lists and edits call them.

In: a name. Out: the id of the production's scene, shot or character. Case does not count, nor do the leading zeros of
a number, since spreadsheets turn 010 into 10. A scene or shot that is not there yet gets an id made of its name.
"""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Iterable
from difflib import get_close_matches

from lipsync.production.production_tables import Line, Shot
from lipsync.production.values import Production, Scene

_LONGEST_ID = 40
_ID = re.compile(r"[A-Za-z0-9][A-Za-z0-9_.-]{0,39}")

# How alike a name must be to be called near, how many near ones are named, and how many where none is near (chosen).
_LEAST_LIKENESS, _MOST_NEAR, _MOST_KNOWN = 0.5, 3, 20


class Names:
    """The names of a production, and those of scenes and shots that lists add; `scenes` and `titles` are by id."""

    def __init__(self, production: Production, scene: str | None = None) -> None:
        """Take the production's names; `scene` is the scene of rows that name none."""
        self._production = production
        self._scene = scene
        self.scenes: dict[str, Scene] = {scene.id: scene for scene in production.scenes}
        self.titles: dict[str, str] = {scene.id: scene.title for scene in production.scenes}
        self._called: dict[str, str] = {}
        for one in production.scenes:
            self._called.setdefault(plain(one.title), one.id)
        self._called |= {plain(one.id): one.id for one in production.scenes}
        self._shots: dict[str, dict[str, str]] = {
            one.id: {plain(shot.id): shot.id for shot in one.shots} for one in production.scenes
        }
        self._cast = {plain(key): key for key in production.file.characters}
        for key, character in production.file.characters.items():
            self._cast.setdefault(plain(character.name), key)

    def scene(self, called: str | None, shot: str | None = None, *, new: bool = True) -> str:
        """Return the id of a scene.

        Args:
            called: its id or title; None if none is named.
            shot: a shot of it, by which it is found where it is not named.
            new: whether a scene that is not there yet is added.

        Raises:
            ValueError: if none is named and several are possible, or it is not there and may not be added.
        """
        called = called or self._scene
        if called is None:
            having = [id for id, shots in self._shots.items() if shot is not None and plain(shot) in shots]
            ids = having or list(self._shots)
            if len(ids) == 1:
                return ids[0]
            known = ", ".join(ids) or "none yet"
            raise ValueError(f"no scene is named (there is {known}); add a column scene, or give --scene")
        if plain(called) in self._called:
            return self._called[plain(called)]
        if not new:
            raise ValueError(f"there is no scene {called!r}; {nearest(called, self._shots)}")
        id = _made_id(called)
        self._called[plain(called)] = id
        self._shots.setdefault(id, {})
        self.titles.setdefault(id, called)
        return id

    def shot(self, scene: str, called: str) -> str:
        """Return the id of a shot of a scene; a shot that is not there yet is added.

        Raises:
            ValueError: if its name has nothing that can be in an id.
        """
        return self._shots[scene].setdefault(plain(called), _made_id(called))

    def has_shot(self, scene: str, called: str) -> bool:
        """Whether a scene has such a shot."""
        return plain(called) in self._shots.get(scene, {})

    def character(self, called: str) -> str:
        """Return the id of a character.

        Raises:
            ValueError: if nobody has this id or name; the error names the nearest.
        """
        if plain(called) in self._cast:
            return self._cast[plain(called)]
        characters = self._production.file.characters
        names = [*characters, *(one.name for one in characters.values())]
        raise ValueError(f"nobody is called {called!r}; {nearest(called, names)}")

    def present(self, scene: str) -> list[tuple[Shot, Line]]:
        """Return the lines that the production has of a scene, each with its shot."""
        there = self.scenes.get(scene)
        return [(shot, line) for shot in there.shots for line in shot.line] if there else []


def nearest(called: str, names: Iterable[str]) -> str:
    """Return the nearest names as part of a sentence; all of them, up to twenty, if none is near."""
    by_plain = {name.casefold(): name for name in names}
    close = get_close_matches(called.casefold(), by_plain, n=_MOST_NEAR, cutoff=_LEAST_LIKENESS)
    if close:
        return f"the nearest are {', '.join(by_plain[name] for name in close)}"
    return f"there are {', '.join(list(by_plain.values())[:_MOST_KNOWN]) or 'none yet'}"


def plain(name: str) -> str:
    """Return a name as names are compared: without case, outer spaces and leading zeros of a number.

    >>> plain("010"), plain("10 "), plain("Sc_01"), plain("0")
    ('10', '10', 'sc_01', '0')
    """
    name = " ".join(name.split()).casefold()
    return name.lstrip("0") or "0" if name.isdecimal() else name


def _made_id(called: str) -> str:
    """Return an id made of a name.

    Raises:
        ValueError: if nothing of it can be in an id.

    >>> _made_id("The lamp room (night)"), _made_id("Zoë’s"), _made_id("010")
    ('The-lamp-room-night', 'Zoe-s', '010')
    """
    if _ID.fullmatch(called):
        return called
    bare = "".join(c for c in unicodedata.normalize("NFKD", called) if not unicodedata.combining(c))
    id = re.sub(r"[^A-Za-z0-9_.]+", "-", bare).strip("-_.")[:_LONGEST_ID].rstrip("-_.")
    if not id:
        raise ValueError(f"{called!r} can be no id; write letters a to z or digits")
    return id
