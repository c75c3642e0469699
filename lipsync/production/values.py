"""A production as people write it: a folder with `production.toml`, and one TOML file a scene.

    low-tide-post/
      production.toml      title, frame rate, characters, the studio's own pronunciations, how the sheet looks
      scenes/NAME.toml     one scene: its shots, their lines
      recordings/          sound, by whatever names the scenes give
      mouthsets/NAME.toml  the studio's own mouth sets; a set that is not there is one of those that ship
      breakdowns/          written by the program, corrected by people; keep it under version control
      sheets/, packets/    written by the program: PDFs, counts
      prints/, filmed/     what was printed and what is in the can, written by the program; under version control too

All faults of all files are reported in one go. Frames are numbered as the production numbers them, from
`first_frame`; everything passed on from here is in whole microseconds and frames from 0 (see timing.py).
"""

from __future__ import annotations

import datetime
import re
from collections.abc import Mapping
from dataclasses import dataclass
from fractions import Fraction
from importlib.resources import files
from pathlib import Path
from typing import Annotated, Any, Literal

from pydantic import AfterValidator, BeforeValidator, Field, StringConstraints, field_validator

from lipsync import timing
from lipsync.errors import InputError
from lipsync.fit.mouthset import MouthSet, Name
from lipsync.fit.settings import FittingSettings
from lipsync.fit.shooting import ShootingPlan
from lipsync.listen.accents import AMERICAN, Accent
from lipsync.phonemes import split_stress
from lipsync.sheets.settings import SheetSettings
from lipsync.tomlfile import Table, shown


def _id(text: str) -> str:
    if not re.fullmatch(r"[A-Za-z0-9][A-Za-z0-9_.-]{0,39}", text):
        raise ValueError(f"{text!r} is no id; write up to 40 of a-z A-Z 0-9 _ . -, a letter or digit first")
    return text


def _begins(value: object) -> object:
    if isinstance(value, bool) or not isinstance(value, int | str) or len(str(value)) > _LONGEST_TIME:
        raise ValueError(f"{shown(value)} is no beginning; {_BEGINNINGS}")
    return value


# No time that a person writes is longer (chosen).
_LONGEST_TIME = 40

# How the beginning of a line may be written.
_BEGINNINGS = 'write a frame number (12), seconds ("1.5 s") or timecode ("01:00:00:12")'

Id = Annotated[str, AfterValidator(_id)]
Begins = Annotated[int | str, BeforeValidator(_begins)]
Text = Annotated[str, StringConstraints(strip_whitespace=True, min_length=1)]
Rate = Annotated[Fraction, BeforeValidator(timing.parse_rate)]
Microseconds = Annotated[int, BeforeValidator(timing.us_of_seconds), Field(ge=0)]
Pronunciation = tuple[str, ...]

_LONGEST_SHOT = 1_000_000


def _pronunciations(value: object) -> object:
    """Turn "S K EH1 R IY0", or a list of such, into a tuple of pronunciations; each symbol is checked."""
    texts = (value,) if isinstance(value, str) else value
    if not isinstance(texts, tuple) or not texts or not all(isinstance(text, str) and text.split() for text in texts):
        raise ValueError(
            f'{shown(value)} is no pronunciation; write ARPAbet, such as "L AO1 R IY0", or a list of such'
        )
    for text in texts:
        for symbol in text.split():
            split_stress(symbol)
    return tuple(tuple(text.split()) for text in texts)


Pronunciations = Annotated[tuple[Pronunciation, ...], BeforeValidator(_pronunciations)]


VoiceFactor = Annotated[float, Field(ge=0.5, le=2.0)]


class Character(Table):
    """A character: the mouth set its puppets wear, and how many puppets there are of it."""

    name: Name
    mouth_set: Id
    puppets: Annotated[int, Field(ge=1, le=99)] = 1
    voice_factor: VoiceFactor | None = None
    accent: Accent = AMERICAN


class OnCamera(Table):
    """What a shot says of one character: the frames on camera (all if not given), and what it rests on."""

    on_camera: tuple[tuple[int, int], ...] | None = None
    rests_on: Name | None = None


class Line(Table):
    """One character's recorded speech in a shot; `voice_factor` where its voice is unlike the character's others."""

    id: Id
    character: Id
    recording: Text
    in_us: Annotated[Microseconds | None, Field(alias="in")] = None
    out_us: Annotated[Microseconds | None, Field(alias="out")] = None
    text: Text
    begins: Begins
    voice_factor: VoiceFactor | None = None


class Shot(Table):
    """One camera set-up with its own frame count."""

    id: Id
    frames: Annotated[int, Field(ge=1, le=_LONGEST_SHOT)]
    start: Annotated[str, StringConstraints(max_length=_LONGEST_TIME)] = "00:00:00:00"
    characters: Mapping[Id, OnCamera] = {}
    line: tuple[Line, ...] = ()

    @property
    def speakers(self) -> tuple[str, ...]:
        """The characters that speak or are named in the shot, in the order in which the file names them."""
        return tuple(dict.fromkeys([*self.characters, *(line.character for line in self.line)]))


class SceneFile(Table):
    """A scene as its file holds it."""

    title: Name
    dated: datetime.date | None = None
    shot: tuple[Shot, ...] = ()


class ProductionFile(Table):
    """`production.toml` as its file holds it."""

    title: Name
    frame_rate: Rate
    first_frame: Annotated[int, Field(ge=0, le=1_000_000)] = 1
    film: Literal["35mm", "16mm"] = "35mm"
    dated: datetime.date | None = None
    seconds_a_day: Annotated[float, Field(gt=0, le=600)] = 2.0
    characters: Mapping[Id, Character]
    pronunciations: Mapping[str, Pronunciations] = {}
    sheet: SheetSettings = SheetSettings()
    fitting: FittingSettings = FittingSettings()
    shooting: ShootingPlan = ShootingPlan()

    @field_validator("pronunciations")
    @classmethod
    def _lower(cls, table: dict[str, Any]) -> dict[str, Any]:
        return {word.lower(): spoken for word, spoken in table.items()}


@dataclass(frozen=True, slots=True)
class Scene:
    """A scene: its id (the file's name), its file and what the file holds."""

    id: str
    path: Path
    title: str
    dated: datetime.date | None
    shots: tuple[Shot, ...]


@dataclass(frozen=True, slots=True)
class Production:
    """A whole production, checked.

    Attributes:
        folder: where it lies.
        file: what `production.toml` holds.
        mouth_sets: for each character's id its mouth set.
        scenes: in the order of their files' names.
    """

    folder: Path
    file: ProductionFile
    mouth_sets: Mapping[str, MouthSet]
    scenes: tuple[Scene, ...]

    @property
    def rate(self) -> Fraction:
        """Frames a second, exact."""
        return self.file.frame_rate

    def shots(self, scene: str | None = None, shot: str | None = None) -> tuple[tuple[Scene, Shot], ...]:
        """Return the shots of the production, of a scene, or the one named, each with its scene.

        Raises:
            InputError: if there is no such scene or shot.
        """
        scenes = [one for one in self.scenes if scene in (None, one.id)]
        if not scenes:
            known = ", ".join(one.id for one in self.scenes)
            raise InputError.one(self.folder / "scenes", "", f"holds no scene {scene!r}; it has {known}")
        shots = tuple((one, there) for one in scenes for there in one.shots if shot in (None, there.id))
        if shot is not None and not shots:
            known = ", ".join(there.id for one in scenes for there in one.shots)
            raise InputError.one(self.folder / "scenes", "", f"holds no shot {shot!r}; it has {known}")
        return shots

    def speakers(self, shot: Shot) -> tuple[str, ...]:
        """Return a shot's characters in the production's order, so that each has its place on every sheet."""
        return tuple(key for key in self.file.characters if key in shot.speakers)

    def frame_of(self, number: int) -> int:
        """Return the frame, from 0, that the production numbers `number`."""
        return number - self.file.first_frame

    def start_frame(self, shot: Shot) -> tuple[int, bool]:
        """Return a shot's first frame counted from midnight, and whether its timecode is drop-frame."""
        return timing.parse_timecode(shot.start, self.rate)

    def begins_us(self, line: Line, shot: Shot) -> int:
        """Return when a line begins in its shot; below 0 if before the shot does.

        Raises:
            ValueError: if `begins` is neither a frame number, nor seconds, nor a timecode.
        """
        if isinstance(line.begins, int):
            return timing.frame_start_us(self.frame_of(line.begins), self.rate)
        text = line.begins.strip()
        if text.endswith("s") and ":" not in text:
            return timing.us_of_seconds(text[:-1].strip())
        if ":" not in text:
            raise ValueError(f"{text!r} is no beginning; {_BEGINNINGS}")
        frame, drop = timing.parse_timecode(text, self.rate)
        first, shot_drop = self.start_frame(shot)
        if drop != shot_drop:
            raise ValueError(
                f"{text!r} and the shot's start {shot.start!r} are counted differently; write ':' or ';' in both"
            )
        return timing.frame_start_us(frame - first, self.rate)

    def on_camera(self, character: str, shot: Shot) -> tuple[bool, ...]:
        """Return for each frame of the shot whether the character is on camera."""
        said = shot.characters.get(character)
        if said is None or said.on_camera is None:
            return (True,) * shot.frames
        seen = {f for first, last in said.on_camera for f in range(self.frame_of(first), self.frame_of(last) + 1)}
        return tuple(frame in seen for frame in range(shot.frames))


def shipped(folder: Literal["mouthsets", "sample_audio"]) -> Path:
    """Return a folder that ships with the program: inside the package, or beside it in a checkout."""
    inside = Path(str(files("lipsync"))) / folder
    return inside if inside.is_dir() else inside.parent.parent / folder


def rest_piece(mouth_set: MouthSet, name: str | None) -> str | None:
    """Return the code of what a character rests on: the code itself, or a shape's smallest piece; None if neither."""
    name = mouth_set.rest if name is None else name
    if name in mouth_set.by_code:
        return name
    return mouth_set.sizes[name][0].code if name in mouth_set.sizes else None
