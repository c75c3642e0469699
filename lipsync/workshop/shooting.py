"""The shooting plan: which puppet shoots which scene, on which days. As people write it in production.toml.

    [shooting]
    spares = 1
    fittings_a_piece = 40     # a clay piece is used up after so many
    change_over_days = 0      # days between a piece's last on one puppet and its first on another

    [[shooting.piece]]        # where one piece is unlike the others
    character = "heron"
    code = "OPEN3"
    spares = 2
    fittings = 25

    [[shooting.piece]]        # a replacement part may be of another material than the character's mouths
    character = "heron"
    code = "BRUP"
    material = "hard"

    [[shooting.shoot]]
    puppet = "heron-1"        # the character's id, a hyphen, which of its puppets, from 1
    scene = "01-lamp-room"    # the scene's id; with `shots` only some of its shots
    first = 2026-11-02
    last = 2026-11-06         # this day included

In: the table `[shooting]`. Out: a checked `ShootingPlan`; `faults_in` names what does not fit the production. A
puppet is in one place at a time: two of its rows may share a day only if they are different shots of one scene.
"""

from __future__ import annotations

import datetime
from collections.abc import Collection, Iterable, Iterator, Mapping, Sequence
from itertools import combinations
from typing import Annotated, Literal, Protocol

from pydantic import Field, StringConstraints

from lipsync.tomlfile import Table, shown

# Clay is modelled on and used up; a hard piece, cast or printed, is not.
Material = Literal["clay", "hard"]

# Room for an id of 40 letters, a hyphen, a number up to 99, and slips of the keyboard.
_Puppet = Annotated[str, StringConstraints(strip_whitespace=True, max_length=50)]


def character_of(puppet: str) -> str:
    """Return the character of a puppet."""
    return puppet.rpartition("-")[0]


class Shoot(Table):
    """One puppet in one scene, from the first day to the last."""

    puppet: _Puppet
    scene: str
    shots: tuple[str, ...] = ()
    first: datetime.date
    last: datetime.date

    def faults(self) -> Iterator[tuple[str, str]]:
        """Yield a fault if the last day is before the first."""
        if self.first and self.last and self.last < self.first:
            yield "last", f"{self.last} is before first, {self.first}; give the days in order"

    @property
    def character(self) -> str:
        """The puppet's character."""
        return character_of(self.puppet)

    @property
    def where(self) -> str:
        """The scene in words, with its shots if the row has only some of them."""
        return shown(self.scene) + (f" ({', '.join(map(str, self.shots))})" if self.shots else "")

    def takes(self, scene: str, shot: str) -> bool:
        """Return whether this row has a shot of a scene."""
        return self.scene == scene and (not self.shots or shot in self.shots)

    def meets(self, other: Shoot) -> bool:
        """Return whether both rows have a day in common."""
        return self.first <= other.last and other.first <= self.last

    def stays_for(self, other: Shoot) -> bool:
        """Return whether both rows have different shots of one scene: a puppet may shoot these on the same day."""
        apart = bool(self.shots and other.shots) and not set(self.shots).intersection(other.shots)
        return self.scene == other.scene and apart


class PieceReckoning(Table):
    """Spares and fittings of one piece, if they are not those of all pieces."""

    character: str
    code: str
    spares: Annotated[int, Field(ge=0, le=99)] | None = None
    fittings: Annotated[int, Field(ge=1, le=100_000)] | None = None
    material: Material | None = None


class ShootingPlan(Table):
    """Who shoots what and when, and how pressings are counted.

    Attributes:
        shoot: the rows of the plan; none if the days are not planned yet.
        spares: pressings of each piece beyond those that serve. Chosen: one, for a dropped mouth stops a set.
        fittings_a_piece: after how many fittings a clay piece, which is re-modelled on the puppet, is used up. The
            default is chosen; the workshop knows its own clay. Hard pieces do not wear.
        change_over_days: days on which a piece is on nobody's board when it goes from one puppet to another: 0 if it
            goes overnight.
        fewest: whether to search until the fewest pressings are found, however long that takes; if not, enough are
            found within seconds a piece.
        piece: other values for single pieces.
    """

    shoot: tuple[Shoot, ...] = ()
    spares: Annotated[int, Field(ge=0, le=99)] = 1
    fittings_a_piece: Annotated[int, Field(ge=1, le=100_000)] = 40
    change_over_days: Annotated[int, Field(ge=0, le=365)] = 0
    fewest: bool = True
    piece: tuple[PieceReckoning, ...] = ()

    def spares_of(self, character: str, code: str) -> int:
        """Return how many spares of a piece are made."""
        own = self._own(character, code)
        return self.spares if own is None or own.spares is None else own.spares

    def fittings_of(self, character: str, code: str) -> int:
        """Return after how many fittings a clay piece is used up."""
        own = self._own(character, code)
        return self.fittings_a_piece if own is None or own.fittings is None else own.fittings

    def material_of(self, character: str, code: str, usual: Material) -> Material:
        """Return what a piece is made of: `usual`, that of its character's mouths, where nothing else is said."""
        own = self._own(character, code)
        return usual if own is None or own.material is None else own.material

    def _own(self, character: str, code: str) -> PieceReckoning | None:
        return next((one for one in self.piece if (one.character, one.code) == (character, code)), None)

    def faults(self) -> Iterator[tuple[str, str]]:
        """Yield a fault for each puppet that is in two places on one day."""
        whole = [
            (row, shoot)
            for row, shoot in enumerate(self.shoot or (), start=1)
            if shoot and shoot.puppet and shoot.first and shoot.last
        ]
        for (row, one), (below, other) in combinations(whole, 2):
            if one.puppet == other.puppet and one.meets(other) and not one.stays_for(other):
                day = max(one.first, other.first)
                yield (
                    f"[[shoot]] {row} and {below}",
                    f"puppet {shown(one.puppet)} shoots {one.where} and {other.where} on the same day, "
                    f"{day}; give one of them to another puppet or to other days",
                )


def faults_in(
    plan: ShootingPlan, puppets: Mapping[str, int], scenes: Mapping[str, Sequence[str]]
) -> Iterator[tuple[str, str]]:
    """Yield place and sentence for each row that does not fit the production.

    Args:
        plan: the plan.
        puppets: how many puppets there are of each character.
        scenes: the shots of each scene, by their ids.
    """
    have = ", ".join(f"{who}-1" if many == 1 else f"{who}-1 to {who}-{many}" for who, many in puppets.items())
    for row, shoot in enumerate(plan.shoot or (), start=1):
        # In a plan with faults, rows and fields that could not be read are None.
        if shoot and shoot.puppet is not None and not _is_there(shoot, puppets):
            yield f"[[shoot]] {row} puppet", f"nobody has the puppet {shown(shoot.puppet)}; the puppets are {have}"
        if not shoot or shoot.scene is None:
            continue
        if shoot.scene not in scenes:
            text = f"there is no scene {shown(shoot.scene)}; the scenes are {', '.join(scenes)}"
            yield f"[[shoot]] {row} scene", text
            continue
        for shot in shoot.shots or ():
            if shot is not None and shot not in scenes[shoot.scene]:
                text = f"scene {shoot.scene} has no shot {shown(shot)}; it has {', '.join(scenes[shoot.scene])}"
                yield f"[[shoot]] {row} shots", text


def _is_there(shoot: Shoot, puppets: Mapping[str, int]) -> bool:
    which = shoot.puppet.rpartition("-")[2]
    known = shoot.character in puppets and which.isdecimal() and str(int(which)) == which
    return known and 1 <= int(which) <= puppets[shoot.character]


class OfPiece(Protocol):
    """A row `[[piece]]` of any table, by the piece that it is about; None for what could not be read."""

    @property
    def character(self) -> str:
        """The character's id."""

    @property
    def code(self) -> str:
        """The piece."""


def piece_faults(rows: Iterable[OfPiece | None], codes: Mapping[str, Collection[str]]) -> Iterator[tuple[str, str]]:
    """Yield place and sentence for each `[[piece]]` that no character has, or that occurs twice.

    Args:
        rows: the rows; None for one that could not be read, whose fault is reported elsewhere.
        codes: the codes of each character's pieces.
    """
    first_rows: dict[tuple[str, str], int] = {}
    for row, one in enumerate(rows, start=1):
        if not one or one.character is None or one.code is None:
            continue
        where = f"[[piece]] {row}"
        yield from ((f"{where} {what}", text) for what, text in no_such_piece(one.character, one.code, codes))
        first = first_rows.setdefault((one.character, one.code), row)
        if first != row:
            yield where, f"is also row {first}, {one.character} {one.code}; make one of them"


def no_such_piece(character: str, code: str, codes: Mapping[str, Collection[str]]) -> Iterator[tuple[str, str]]:
    """Yield place and sentence where there is no such character, or it has no such piece.

    A character without codes has a mouth set that cannot be read, which is told elsewhere.
    """
    if character not in codes:
        yield "character", f"there is no character {shown(character)}; the characters are {', '.join(codes)}"
    elif codes[character] and code not in codes[character]:
        known = ", ".join(codes[character])
        yield "code", f"{character} has no piece {shown(code)}; it has {known}: correct it, or take the row out"


Heads = tuple[str, ...]
Interchangeable = bool | tuple[Heads, ...]


def heads_of(character: str, puppets: int, interchangeable: Interchangeable) -> tuple[Heads, ...]:
    """Return the puppets of a character in groups whose heads take the same mouths.

    >>> heads_of("heron", 3, True), heads_of("heron", 2, False)
    ((('heron-1', 'heron-2', 'heron-3'),), (('heron-1',), ('heron-2',)))
    >>> heads_of("heron", 3, (("heron-1", "heron-3"),))
    (('heron-1', 'heron-3'), ('heron-2',))
    """
    all_of = tuple(f"{character}-{which}" for which in range(1, puppets + 1))
    if isinstance(interchangeable, bool):
        return (all_of,) if interchangeable else tuple((puppet,) for puppet in all_of)
    named = {puppet for group in interchangeable for puppet in group}
    alone = tuple((puppet,) for puppet in all_of if puppet not in named)
    return tuple(sorted((*interchangeable, *alone), key=lambda group: all_of.index(group[0])))


def heads_faults(character: str, puppets: int, interchangeable: Interchangeable | None) -> Iterator[tuple[str, str]]:
    """Yield place and sentence for each group of puppets that is impossible."""
    if isinstance(interchangeable, bool) or interchangeable is None:
        return
    all_of = [f"{character}-{which}" for which in range(1, puppets + 1)]
    seen: set[str] = set()
    for row, group in enumerate(interchangeable, start=1):
        where = f"interchangeable {row}"
        if not group:
            yield where, "names no puppet; name those whose heads take the same mouths, or take it out"
        for puppet in group or ():
            if puppet not in all_of:
                yield where, f"nobody has the puppet {shown(puppet)}; the puppets are {', '.join(all_of)}"
            elif puppet in seen:
                yield where, f"names {puppet}, which is in a group already; leave it in one of them"
            seen.add(puppet)
