"""The tables of a kept line's file as pydantic models: their keys, and the type of each value.

In: tables from `tomli`, decimals as `Decimal`. Out: the same, checked, times in whole microseconds.
`breakdown_faults.py` makes sentences of pydantic's errors; `reading.py` checks what the tables mean together.
"""

from __future__ import annotations

from decimal import Decimal
from typing import Annotated, Any

from pydantic import BaseModel, BeforeValidator, ConfigDict, Field

from lipsync.model import Origin, Rejection
from lipsync.phonemes import split_stress
from lipsync.timing import us_of_seconds
from lipsync.tomlfile import shown


def _number(value: object) -> float:
    if isinstance(value, bool) or not isinstance(value, (int, Decimal)) or Decimal(value).is_nan():
        raise ValueError(f"found {shown(value)}; write a number, such as -20.5")
    return float(value)


def _time_us(value: object) -> int:
    said = f"found {shown(value)}; write seconds, 0 or more, such as 1.25"
    if isinstance(value, bool) or not isinstance(value, (int, Decimal)):
        raise ValueError(said)
    try:
        time_us = us_of_seconds(str(value))
    except ValueError:
        raise ValueError(said) from None
    if time_us < 0:
        raise ValueError(said)
    return time_us


def _sound(value: object) -> tuple[str, int | None]:
    if not isinstance(value, str):
        raise ValueError(f'found {shown(value)}; write a phoneme, such as "AH1"')
    return split_stress(value)


def _kind_of_rejection(value: object) -> Rejection:
    try:
        return Rejection(value)  # type: ignore[arg-type]
    except ValueError:
        known = ", ".join(f'"{kind}"' for kind in Rejection)
        raise ValueError(f"found {shown(value)}; write one of {known}, or leave it out") from None


Time = Annotated[int, BeforeValidator(_time_us)]
Number = Annotated[float, BeforeValidator(_number)]
Share = Annotated[Number, Field(ge=0, le=1)]
Count = Annotated[int, Field(ge=0)]
Name = Annotated[str, Field(min_length=1)]


class Checked(BaseModel):
    """A table in which every key is known and nothing is converted silently.

    The file's keys that end in `_s` are seconds; the fields are microseconds, and named so.
    """

    model_config = ConfigDict(extra="forbid", strict=True)


class PhonemeTable(Checked):
    """One row of a word."""

    start_us: Time = Field(alias="start_s")
    phoneme: Annotated[tuple[str, int | None], BeforeValidator(_sound)]
    level_db: Number | None = None


class ComputedWordTable(Checked):
    """A word; its rows are checked one by one."""

    word: str
    origin: Origin = Field(alias="from")
    confidence: Share | None = None
    corrected: bool = False
    phonemes: list[Any] = Field(min_length=1)
    end_us: Time = Field(alias="end_s")


class CorrectedWordTable(ComputedWordTable):
    """A word that a person corrected; its pronunciation is by hand unless the table says otherwise."""

    origin: Origin = Field("hand", alias="from")


class CueTable(Checked):
    """A cue."""

    cue: str
    start_us: Time = Field(alias="start_s")
    end_us: Time = Field(alias="end_s")
    corrected: bool = False


class UntoldTable(Checked):
    """A stretch of voice that no word and no cue covers."""

    start_us: Time = Field(alias="start_s")
    end_us: Time = Field(alias="end_s")


class SourceTable(Checked):
    """What a line was computed from."""

    text: str
    recording: str
    fingerprint: str
    in_us: Time | None = Field(None, alias="in_s")
    out_us: Time | None = Field(None, alias="out_s")


class ComputedTable(Checked):
    """A computed breakdown, without a check in [newer.computed]; its parts are checked one by one."""

    duration_us: Time = Field(alias="duration_s")
    voice_factor: Annotated[Number, Field(gt=0, allow_inf_nan=False)]
    effort: str
    engine: str
    rejection: Annotated[Rejection | None, BeforeValidator(_kind_of_rejection)] = None
    voice_without_text: list[Any] = []
    parts: list[Any]


class VouchedTable(ComputedTable):
    """The computed breakdown that stands, with the check that shows whether its rows were edited in place."""

    check: Name


class ReplacedTable(Checked):
    """A part that a correction replaces."""

    index: Count
    text: str
    start_us: Time | None = Field(None, alias="start_s")
    end_us: Time | None = Field(None, alias="end_s")


class CorrectedTable(Checked):
    """A correction; its parts are checked one by one."""

    note: str = ""
    replaces: list[Any] = []
    parts: list[Any] = []


class PieceTable(Checked):
    """A piece put on a frame by hand, or forbidden there."""

    frame: Count
    code: Name | None = None
    forbid: Name | None = None


class StatusTable(Checked):
    """What a person has said about the line."""

    checked: bool = False


class NewerTable(Checked):
    """A newer computation that waits."""

    source: dict[str, Any]
    computed: dict[str, Any]


class BreakdownEndTable(Checked):
    """The last lines, which a file lacks that was cut short."""

    of: str


class FileTable(Checked):
    """The file; its tables are checked one by one."""

    form: str
    line: Name
    status: dict[str, Any] = {}
    source: dict[str, Any]
    computed: dict[str, Any]
    corrected: list[Any] = []
    pieces: list[Any] = []
    nothing_said: list[Any] = []
    newer: dict[str, Any] | None = None
    end: dict[str, Any]
