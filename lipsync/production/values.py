"""A whole production, checked: its folder, its file, its mouth sets and its scenes.

loading.py makes it of the tables in production_tables.py, which have numbers and times as people write them; the
methods here give frames from 0 and whole microseconds (timing.py).
"""

from __future__ import annotations

import datetime
from collections.abc import Mapping
from dataclasses import dataclass
from fractions import Fraction
from importlib.resources import files
from pathlib import Path
from typing import Literal

from lipsync import timing
from lipsync.errors import InputError
from lipsync.files import AnyPath
from lipsync.fit.mouthset import MouthSet
from lipsync.message import Where, listed
from lipsync.production.production_tables import Line, ProductionFile, Shot
from lipsync.production.written_times import begins_us
from lipsync.seen import SeenFile
from lipsync.track import PartWorn
from lipsync.workshop.stock import StockFile


@dataclass(frozen=True, slots=True)
class Scene:
    """A scene: its id (the name of its file), the path of the file, and what the file holds."""

    id: str
    path: Path
    title: str
    dated: datetime.date | None
    shots: tuple[Shot, ...]

    def where(self, shot: Shot) -> Where:
        """Return the place of messages about a shot: its entry in the scene's file."""
        return Where(str(self.path), f'[[shot]] "{shot.id}"', self.id, shot.id)


@dataclass(frozen=True, slots=True)
class Production:
    """A whole production, checked.

    Attributes:
        folder: where it lies.
        file: what `production.toml` holds.
        mouth_sets: for each character's id its mouth set.
        scenes: in the order of their files' names.
        read_from: the state of its files, taken before they were read (seen.py).
        stock: the pieces that there are; None if they were not counted.
    """

    folder: Path
    file: ProductionFile
    mouth_sets: Mapping[str, MouthSet]
    scenes: tuple[Scene, ...]
    read_from: tuple[SeenFile, ...] = ()
    stock: StockFile | None = None

    @property
    def rate(self) -> Fraction:
        """Frames a second, exact."""
        return self.file.frame_rate

    def shots(self, scene: str | None = None, shot: str | None = None) -> tuple[tuple[Scene, Shot], ...]:
        """Return the shots of the production, of a scene, or the one named, each with its scene.

        A shot is named as SCENE/SHOT, or by its id alone where no other scene has it.

        Raises:
            InputError: if there is no such scene or shot, or several scenes have it.
        """
        if shot is not None and scene is None and "/" in shot:
            scene, _, shot = shot.partition("/")
        scenes = [one for one in self.scenes if scene in (None, one.id)]
        if not scenes and scene is not None:
            known = listed([one.id for one in self.scenes], scene)
            raise InputError.of("no such scene", Where(str(self.folder / "scenes")), scene=scene, known=known)
        shots = tuple((one, there) for one in scenes for there in one.shots if shot in (None, there.id))
        if shot is not None and not shots:
            known = listed([there.id for one in scenes for there in one.shots], shot)
            raise InputError.of("no such shot", Where(str(self.folder / "scenes")), shot=shot, known=known)
        if shot is not None and len(shots) > 1:
            known = " or ".join(f"{one.id}/{shot}" for one, _ in shots)
            raise InputError.of("several shots", Where(str(self.folder / "scenes")), shot=shot, known=known)
        return shots

    def called(self, scene: str, shot: str) -> str:
        """Return a shot's name on a command line: its id, with its scene where other scenes have that id too."""
        alone = sum(there.id == shot for one in self.scenes for there in one.shots) <= 1
        return shot if alone else f"{scene}/{shot}"

    def folder_for(self, kind: str, out: AnyPath | None) -> Path:
        """Return where files of a kind are written: `out` if given, else the production's own folder for them."""
        return self.folder / kind if out is None else Path(out)

    def speakers(self, shot: Shot) -> tuple[str, ...]:
        """Return the ids of a shot's characters in the production's order: columns have one order on all sheets."""
        return tuple(key for key in self.file.characters if key in shot.speakers)

    def frame_of(self, number: int) -> int:
        """Return the frame, from 0, that the production numbers `number`."""
        return number - self.file.first_frame

    def start_frame(self, shot: Shot) -> tuple[int, bool]:
        """Return a shot's first frame counted from midnight, and whether its timecode is drop-frame."""
        return timing.parse_timecode(shot.start, self.rate)

    def begins_us(self, line: Line, shot: Shot) -> int:
        """Return when a line's recording begins, in microseconds from its shot's first frame; below 0 if before it.

        Raises:
            ValueError: if `begins` is no beginning (written_times.py).
        """
        return begins_us(line.begins, shot.start, self.rate, self.file.first_frame)

    def parts_of(self, character: str, shot: Shot) -> tuple[PartWorn, ...]:
        """Return the parts that a character wears in a shot beside its mouths, in the order of their frames."""
        found = (
            PartWorn(one.kind, one.code, self.frame_of(one.frames[0]), self.frame_of(one.frames[1]))
            for one in shot.part
            if one.character == character
        )
        return tuple(sorted(found, key=lambda one: (one.first, one.kind)))

    @property
    def part_codes(self) -> dict[str, dict[str, str]]:
        """The codes of each character's parts, each with what it is called; as far as scenes are whole."""
        found: dict[str, dict[str, str]] = {key: {} for key in self.file.characters or {}}
        for scene in self.scenes:
            for one in (part for shot in scene.shots if shot for part in shot.part or ()):
                if one and one.code and one.character in found:
                    named = one.name or found[one.character].get(one.code) or one.kind or ""
                    found[one.character][one.code] = named
        return found

    def on_camera(self, character: str, shot: Shot) -> tuple[bool, ...]:
        """Return for each frame of the shot whether the character is on camera."""
        said = shot.characters.get(character)
        if said is None or said.on_camera is None:
            return (True,) * shot.frames
        seen = {f for first, last in said.on_camera for f in range(self.frame_of(first), self.frame_of(last) + 1)}
        return tuple(frame in seen for frame in range(shot.frames))


def shipped(folder: Literal["mouthsets", "sample_audio"]) -> Path:
    """Return a folder that ships with the program: in the installed package, or beside it in the repository."""
    inside = Path(str(files("lipsync"))) / folder
    return inside if inside.is_dir() else inside.parent.parent / folder


def rest_piece(mouth_set: MouthSet, name: str | None) -> str | None:
    """Return the code of what a character rests on: the code itself, or a shape's smallest piece; None if neither."""
    name = mouth_set.rest if name is None else name
    if name in mouth_set.by_code:
        return name
    return mouth_set.sizes[name][0].code if name in mouth_set.sizes else None
