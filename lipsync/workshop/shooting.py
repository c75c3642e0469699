"""The shooting plan: which puppet shoots which scene, on which days. As people write it in production.toml.

    [shooting]
    spares = 1
    fittings_a_piece = 40     # a clay piece is used up after so many

    [[shooting.shoot]]
    puppet = "heron-1"        # the character's id, a hyphen, which of its puppets, from 1
    scene = "01-lamp-room"    # the scene's id; with `shots` only some of its shots
    first = 2026-11-02
    last = 2026-11-06         # this day included

In comes the table `[shooting]`, out a checked `ShootingPlan`; `faults_in` names what does not fit the production. A
puppet is in one place at a time: two of its rows may share a day only if they are different shots of one scene.
"""

from __future__ import annotations

import datetime
from collections.abc import Iterator, Mapping, Sequence
from itertools import combinations
from typing import Annotated

from pydantic import Field, StringConstraints

from lipsync.tomlfile import Table, shown

# An id of up to 40 letters, a hyphen, a number up to 99, and some room for slips.
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
        """Days the wrong way round."""
        if self.first and self.last and self.last < self.first:
            yield "last", f"{self.last} is before first, {self.first}; give the days in order"

    @property
    def character(self) -> str:
        """The puppet's character."""
        return character_of(self.puppet)

    @property
    def where(self) -> str:
        """The scene, and the shots if it is not all of them, in words."""
        return shown(self.scene) + (f" ({', '.join(map(str, self.shots))})" if self.shots else "")

    def takes(self, scene: str, shot: str) -> bool:
        """Whether a shot of a scene is among those of this row."""
        return self.scene == scene and (not self.shots or shot in self.shots)

    def meets(self, other: Shoot) -> bool:
        """Whether both shoot on one day."""
        return self.first <= other.last and other.first <= self.last

    def stays_for(self, other: Shoot) -> bool:
        """Whether the other row is other shots of the same scene, to which a puppet may go on within a day."""
        apart = bool(self.shots and other.shots) and not set(self.shots).intersection(other.shots)
        return self.scene == other.scene and apart


class ShootingPlan(Table):
    """Who shoots what and when, and what the workshop reckons with.

    Attributes:
        shoot: the rows; none if the days are not planned yet.
        spares: pressings of each piece beyond those that are needed. One, since a dropped mouth stops a set; chosen.
        fittings_a_piece: after how many fittings a clay piece that is re-modelled on the puppet is used up. Chosen;
            the workshop knows its own clay. Hard pieces do not wear.
    """

    shoot: tuple[Shoot, ...] = ()
    spares: Annotated[int, Field(ge=0, le=99)] = 1
    fittings_a_piece: Annotated[int, Field(ge=1, le=100_000)] = 40

    def faults(self) -> Iterator[tuple[str, str]]:
        """Puppets that are in two places on one day."""
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
        # Of a broken plan, rows and fields that are broken are None.
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
