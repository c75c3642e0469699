"""A production as people write it: the tables of `production.toml` and of the scenes' files.

In: the values of a TOML file. Out: a `ProductionFile` or a `SceneFile`, checked by itself. The folder:

    low-tide-post/
      production.toml      title, frame rate, characters, the studio's own pronunciations, how the sheet looks
      scenes/NAME.toml     one scene: its shots, their lines
      recordings/          sound, by whatever names the scenes give
      mouthsets/NAME.toml  the studio's own mouth sets; a set that is not there is one of those that ship
      breakdowns/          written by the program, corrected by people; keep it under version control
      stock.toml           what there is of the pieces, if the workshop counts them
      sheets/, packets/    written by the program: PDFs, counts
      orders/              what was ordered, written by the program; keep it under version control
      prints/, filmed/     what was printed and what is in the can, written by the program; under version control too

All faults of all files are reported in one go. In the files, frames have the production's numbers, from `first_frame`
on; `values.Production` gives times in whole microseconds and frames from 0 (timing.py).
"""

from __future__ import annotations

import datetime
import re
from collections.abc import Mapping
from dataclasses import dataclass
from fractions import Fraction
from pathlib import Path
from typing import Annotated, Any, Literal

from pydantic import AfterValidator, BeforeValidator, Field, StringConstraints, ValidationInfo, field_validator

from lipsync import timing
from lipsync.fit.fit_settings import FittingSettings
from lipsync.fit.mouthset import Code, Name
from lipsync.model import LEAST_FACTOR, MOST_FACTOR
from lipsync.paper.label_sheets import LabelSettings
from lipsync.paper.sheet_settings import PART_COLUMNS, SheetSettings
from lipsync.phonemes import split_stress
from lipsync.production.broadcast_wave import wave_facts
from lipsync.production.taking_settings import TakingSettings
from lipsync.production.written_times import BEGINNINGS, LONGEST_TIME, POINTS, point_us
from lipsync.text.accents import AMERICAN, Accent
from lipsync.tomlfile import Table, shown
from lipsync.workshop.making import Making
from lipsync.workshop.shooting import ShootingPlan


def checked_id(text: str) -> str:
    """Return an id, or raise a ValueError that says how one is written."""
    if not re.fullmatch(r"[A-Za-z0-9][A-Za-z0-9_.-]{0,39}", text):
        raise ValueError(f"{text!r} is no id; write up to 40 of a-z A-Z 0-9 _ . -, a letter or digit first")
    return text


def _begins(value: object) -> object:
    if isinstance(value, bool) or not isinstance(value, int | str) or len(str(value)) > LONGEST_TIME:
        raise ValueError(f"{shown(value)} is no beginning; {BEGINNINGS}")
    return value


@dataclass(frozen=True, slots=True)
class SceneReading:
    """What the reading of a scene's file needs: the production's folder, and its rate, None if that is broken."""

    folder: Path
    rate: Fraction | None


def _point(value: object, info: ValidationInfo) -> int | None:
    """Return a point of the line's recording, in microseconds; None if it depends on a rate that is broken."""
    if isinstance(value, int | float) and not isinstance(value, bool):
        if value < 0:
            raise ValueError(f"found {shown(value)}; 0 or more is allowed")
        return timing.us_of_seconds(value)
    if not isinstance(value, str) or len(value) > LONGEST_TIME:
        raise ValueError(f"{shown(value)} is no point of a recording; {POINTS}")
    if not isinstance(info.context, SceneReading):
        raise ValueError(f"{shown(value)} can only be read with its production; write seconds, such as 1.5")
    if info.context.rate is None:
        # At this rate every timecode is valid, and other faults are found all the same.
        point_us(value, Fraction(1000))
        return None
    recording = (info.data or {}).get("recording")
    facts = wave_facts(info.context.folder / recording) if ":" in value and recording else None
    return point_us(value, info.context.rate, facts.stamp_us or 0 if facts else 0)


Id = Annotated[str, AfterValidator(checked_id)]
Begins = Annotated[int | str, BeforeValidator(_begins)]
Text = Annotated[str, StringConstraints(strip_whitespace=True, min_length=1)]
Rate = Annotated[Fraction, BeforeValidator(timing.parse_rate)]
PointUs = Annotated[int | None, BeforeValidator(_point)]
Pronunciation = tuple[str, ...]

# Frames: nearly 14 minutes at 24 frames a second, longer than any take that an animator makes by hand (chosen).
LONGEST_SHOT = 20_000


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


VoiceFactor = Annotated[float, Field(ge=LEAST_FACTOR, le=MOST_FACTOR)]


class Character(Table):
    """A character: the mouth set its puppets wear, how many there are of it, and whose heads take the same mouths.

    `mouth_mm` is how wide the mouth at rest is on the puppet, from corner to corner.
    """

    name: Name
    mouth_set: Id
    puppets: Annotated[int, Field(ge=1, le=99)] = 1
    interchangeable: bool | tuple[tuple[str, ...], ...] = True
    mouth_mm: Annotated[float, Field(gt=0, le=500)] | None = None
    voice_factor: VoiceFactor | None = None
    accent: Accent = AMERICAN


class OnCamera(Table):
    """What a shot says of one character: runs of frames on camera (all if None), and the piece it rests on."""

    on_camera: tuple[tuple[int, int], ...] | None = None
    rests_on: Name | None = None


class Line(Table):
    """One character's recorded speech in a shot; `voice_factor` is for a voice unlike that of its other lines."""

    id: Id
    character: Id
    recording: Text
    in_us: Annotated[PointUs, Field(alias="in")] = None
    out_us: Annotated[PointUs, Field(alias="out")] = None
    text: Text
    begins: Begins
    voice_factor: VoiceFactor | None = None


class Part(Table):
    """A replacement part that is no mouth, on frames of a shot, the last included; `name` is what it is called."""

    kind: Literal[tuple(PART_COLUMNS)]  # type: ignore[valid-type]
    character: Id
    code: Code
    frames: tuple[int, int]
    name: Name = ""


class Shot(Table):
    """One camera set-up with its own frame count."""

    id: Id
    frames: Annotated[int, Field(ge=1, le=LONGEST_SHOT)]
    start: Annotated[str, StringConstraints(max_length=LONGEST_TIME)] = "00:00:00:00"
    characters: Mapping[Id, OnCamera] = {}
    line: tuple[Line, ...] = ()
    part: tuple[Part, ...] = ()

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
    labels: LabelSettings = LabelSettings()
    making: Making = Making()
    taking: TakingSettings = TakingSettings()

    @field_validator("pronunciations")
    @classmethod
    def _lower(cls, table: dict[str, Any]) -> dict[str, Any]:
        return {word.lower(): spoken for word, spoken in table.items()}
