"""What commands answer with `--json`: for each the form of its answer, checked before it is printed.

Every answer has a form, such as "lipsync sheet answer 1": its number rises when a program that reads it would have to
change. Every answer also says what was not done (exit code 4) and what is to be known. Where nothing was done (exit
code 3, 4 or 5) the answer is a refusal. Frames are the production's numbers, times seconds from the recording's `in`
point, files paths as the command was given them.

lipsync/formats/json/ holds a JSON Schema of each, written by tests/make_schemas.py.
"""

from __future__ import annotations

import json
from collections.abc import Iterable, Mapping
from dataclasses import asdict
from typing import Any, Literal, get_args

from pydantic import BaseModel, ConfigDict, Field

from lipsync.message import Message
from lipsync.model import Origin, Rejection
from lipsync.report import Report


class AnswerPart(BaseModel):
    """A part of an answer: no key that is not documented."""

    model_config = ConfigDict(extra="forbid", frozen=True)


class AnswerMessage(AnswerPart):
    """One thing to know or to mend. `text` is `what` and `remedy` as one sentence; what is empty is not meant."""

    kind: str
    file: str
    place: str
    scene: str
    shot: str
    line: str
    what: str
    remedy: str
    text: str


class Answer(AnswerPart):
    """What every answer has: its form, what was not done, and what is to be known."""

    form: str
    not_done: tuple[AnswerMessage, ...]
    messages: tuple[AnswerMessage, ...]


class Refusal(Answer):
    """Nothing was done: `not_done` says why, and `exit_code` is what the program ends with."""

    form: Literal["lipsync refusal 1"]
    exit_code: Literal[3, 4, 5]


class AnswerPhoneme(AnswerPart):
    """A phoneme in ARPAbet, vowels with their stress."""

    phoneme: str
    start_s: float
    end_s: float


class AnswerWord(AnswerPart):
    """A word in time: `from` says where its pronunciation is from; `confidence` is 0 to 1, null if not judged."""

    word: str
    origin: Origin = Field(alias="from")
    confidence: float | None
    doubtful: bool
    corrected: bool
    start_s: float
    end_s: float
    phonemes: tuple[AnswerPhoneme, ...]


class AnswerCue(AnswerPart):
    """A sound that is no word."""

    cue: str
    start_s: float
    end_s: float


class AnswerStretch(AnswerPart):
    """A stretch of the recording."""

    start_s: float
    end_s: float


class AnswerVoice(AnswerPart):
    """A character's voice factor, null where each line finds its own, and the lines that its voice was found from."""

    character: str
    voice_factor: float | None
    set_by: Literal["hand", "lines", "each line"]
    found_from: tuple[str, ...]
    adapted_from: tuple[str, ...]
    passed_over: tuple[str, ...]


class AnswerLine(AnswerPart):
    """A line with its breakdown; `search` says which step of the ladder of searches found it.

    `rejection` says why sound and text do not match, null where they do; `voice_without_text` says where something is
    heard that the text does not have.
    """

    scene: str
    shot: str
    line: str
    state: Literal["computed", "corrected", "checked", "newer one waits"]
    voice_factor: float
    search: str
    rejection: Rejection | None
    voice_without_text: tuple[AnswerStretch, ...]
    parts: tuple[AnswerWord | AnswerCue, ...]


class BreakdownAnswer(Answer):
    """Of `breakdown`: the lines that were done, the characters' voices, and the TextGrids that were written."""

    form: Literal["lipsync breakdown answer 1"]
    lines: tuple[AnswerLine, ...]
    voices: tuple[AnswerVoice, ...]
    files: tuple[str, ...]


class SheetAnswer(Answer):
    """Of `sheet`: the sheets that were written, in the order of the shots."""

    form: Literal["lipsync sheet answer 1"]
    files: tuple[str, ...]


class PacketAnswer(Answer):
    """Of `packet`: the packets that were written."""

    form: Literal["lipsync packet answer 1"]
    files: tuple[str, ...]


class PreviewAnswer(Answer):
    """Of `preview`: the movies that were written."""

    form: Literal["lipsync preview answer 1"]
    files: tuple[str, ...]


class ChartAnswer(Answer):
    """Of `chart`: the mouth charts that were written."""

    form: Literal["lipsync chart answer 1"]
    files: tuple[str, ...]


class LabelsAnswer(Answer):
    """Of `labels`: the file that was written, and how many labels and sheets it has."""

    form: Literal["lipsync labels answer 1"]
    labels: int
    sheets: int
    files: tuple[str, ...]


class BoardPiece(AnswerPart):
    """A piece on a puppet's board for a scene: how many lie there, and how often it is put on."""

    puppet: str
    scene: str
    code: str
    count: int
    times_fitted: int


class BoardsAnswer(Answer):
    """Of `boards`: a row for each piece on each board, and the file that was written."""

    form: Literal["lipsync boards answer 1"]
    pieces: tuple[BoardPiece, ...]
    files: tuple[str, ...]


class CountedPiece(AnswerPart):
    """How much a character's piece is used, and how many are needed: as the plan takes, or one for each puppet."""

    character: str
    code: str
    frames_seen: int
    times_fitted: int
    scenes: tuple[str, ...]
    pieces_needed: int


class CountAnswer(Answer):
    """Of `count`: a row for each character and piece; `by_plan`: whether a shooting plan says how many are needed."""

    form: Literal["lipsync count answer 2"]
    by_plan: bool
    pieces: tuple[CountedPiece, ...]
    files: tuple[str, ...]


class OrderedPiece(AnswerPart):
    """The pressings of a piece: most at once, more because clay is used up, spares; and the puppets that need it."""

    character: str
    code: str
    heads: tuple[str, ...]
    frames_seen: int
    times_fitted: int
    boards: tuple[str, ...]
    at_once: int
    changing_over: int
    used_up: int
    spares: int
    pressings_needed: int
    there: int
    worn_out: int
    on_the_way: int
    pressings_to_make: int
    needed_no_more: int
    needed_by: tuple[str, ...]
    minutes: float | None
    moulds: int | None
    price: float | None


class HandedOver(AnswerPart):
    """A piece that goes from one puppet's board to another's, for the day."""

    day: str
    code: str
    giver: str
    taker: str


class MadeWork(AnswerPart):
    """What pressings take to make; null where no figure is given for any of them."""

    pressings: int
    minutes: float | None
    moulds: int | None
    batches: int | None
    price: float | None


class MadeWeek(MadeWork):
    """What those take that are first on a board in a calendar week of ISO 8601, such as 2026-W49."""

    week: str


class MadePart(AnswerPart):
    """A piece of a character."""

    character: str
    code: str


class WorkshopWork(AnswerPart):
    """What an order takes to make; `not_given`: for a number, the pieces that are not in its sums."""

    currency: str
    total: MadeWork
    weeks: tuple[MadeWeek, ...]
    not_given: Mapping[str, tuple[MadePart, ...]]


class OrderedGroup(AnswerPart):
    """Pressings of a piece to make for a scene, a puppet, a week or a character.

    `group` is null for spares, which belong to no scene and no puppet, and for all weeks where no days are planned.
    """

    group: str | None
    character: str
    code: str
    pressings_to_make: int


class OrderAnswer(Answer):
    """Of `order`: a row for each character and piece, the codes on each puppet's board, and who hands what to whom.

    `heads` are the puppets whose heads take the piece. One that is only looked at has no revision. `missing` must
    be known before it is used. `making` is null where the studio gives no figures; `groups` is what `--by` asks
    for, and `by` is by what.
    """

    form: Literal["lipsync order answer 4"]
    revision: str | None
    stamp: str | None
    changes: tuple[str, ...]
    missing: tuple[str, ...]
    pieces: tuple[OrderedPiece, ...]
    boards: Mapping[str, tuple[str, ...]]
    hand_overs: tuple[HandedOver, ...]
    making: WorkshopWork | None
    by: Literal["scene", "character", "puppet", "week"] | None
    groups: tuple[OrderedGroup, ...]
    files: tuple[str, ...]


class WeighedPrice(AnswerPart):
    """What a scene takes at a price of a fitting. Costs are in frames that are as wrong as can be."""

    price: float
    fittings: int
    fittings_a_second: float
    visual_cost: float
    other_cost: float
    days: float
    setting: Literal["present", ""]


class WeighAnswer(Answer):
    """Of `weigh`: a row for each price, the lowest first."""

    form: Literal["lipsync weigh answer 1"]
    rows: tuple[WeighedPrice, ...]
    files: tuple[str, ...]


class WorthSet(AnswerPart):
    """The best set of so many pieces; `next_brings` is null for the whole set."""

    pieces: int
    loss: float
    next_brings: float | None
    visual_cost: float
    fittings: int
    not_seen: int
    codes: tuple[str, ...]
    pressings: int | None = None
    minutes: float | None = None
    moulds: int | None = None
    batches: int | None = None
    price: float | None = None


class WorthAnswer(Answer):
    """Of `worth`: a row for each number of pieces, the fewest first.

    What making a set takes is null where the studio gives no figures.
    """

    form: Literal["lipsync worth answer 2"]
    rows: tuple[WorthSet, ...]
    files: tuple[str, ...]


class TriedSide(AnswerPart):
    """One of two ways. `pieces_needed` is by character, for frames that are not yet filmed."""

    fittings: int
    visual_cost: float
    visual_cost_by_tried: float
    cost_with_fittings: float
    not_seen: int
    pieces_needed: Mapping[str, int]


class SideBySideAnswer(Answer):
    """Of `side-by-side`: the present way and the tried one. `mean_distance` is between their mouths, per frame."""

    form: Literal["lipsync side-by-side answer 1"]
    scene: str
    frames: int
    frames_that_differ: int
    mean_distance: float
    present: TriedSide
    tried: TriedSide
    files: tuple[str, ...]


class CompetingSound(AnswerPart):
    """What has a claim on a frame: which part of it it fills, and how much it counts."""

    sound: str
    line: str | None
    word: str | None
    shape: str
    fills: float
    counts: float
    coarticulation: float


class PossiblePiece(AnswerPart):
    """What a piece would cost: how unlike it is here, and what the whole shot would cost more; null if forbidden."""

    piece: str
    unlike_here: float
    more: float | None


class LipsAsked(AnswerPart):
    """What the lips do on a frame, in words and on each axis, 0 to 1."""

    said: str
    opening: float
    width: float
    rounding: float
    teeth: float
    tongue: float


class WhyOfCharacter(AnswerPart):
    """Why a character wears a piece on the frame."""

    shot: str
    frame: int
    character: str
    piece: str
    decided: str
    lips: LipsAsked
    competing: tuple[CompetingSound, ...]
    pieces: tuple[PossiblePiece, ...]


class WhyAnswer(Answer):
    """Of `why`: one for each character that is on camera."""

    form: Literal["lipsync why answer 1"]
    answers: tuple[WhyOfCharacter, ...]


class WornRun(AnswerPart):
    """Frames on which the same was worn and the same was planned; null is off camera."""

    first: int
    last: int
    code: str | None
    planned: str | None


class ModelledRun(AnswerPart):
    """What was done by hand from a frame on; `code` is the piece that the clay was modelled toward, else null."""

    first: int
    last: int
    what: Literal["toward", "keep alive", "not modelled"]
    code: str | None


class FilmedEvent(AnswerPart):
    """What happened to frames; `frames` are first and last of each run; `modelled` is null if it was not recorded."""

    number: int
    what: Literal["lock", "mend", "unlock", "refilm"]
    frames: tuple[tuple[int, int], ...]
    revision: str
    stamp: str
    modelled: Mapping[str, tuple[ModelledRun, ...]] | None
    reason: str
    dated: str | None


class FilmedOfShot(AnswerPart):
    """What of a shot is in the can: first and last frame of each run, and what each character wore."""

    scene: str
    shot: str
    frames: int
    filmed: tuple[tuple[int, int], ...]
    worn: Mapping[str, tuple[WornRun, ...]]
    events: tuple[FilmedEvent, ...]


class FilmedAnswer(Answer):
    """Of `filmed`: a row for each shot."""

    form: Literal["lipsync filmed answer 1"]
    shots: tuple[FilmedOfShot, ...]


class LockAnswer(Answer):
    """Of `lock`, `unlock` and `refilm`: what was done, and what is in the can of the shot now."""

    form: Literal["lipsync lock answer 1"]
    done: tuple[AnswerMessage, ...]
    shots: tuple[FilmedOfShot, ...]


class NamedState(AnswerPart):
    """A state of a sheet: a revision or `now`, and its stamp."""

    state: str
    stamp: str


class SheetChange(AnswerPart):
    """One thing that changed; `moved_frames` are the fewest and the most frames, below 0 where it is earlier."""

    kind: str
    character: str
    first: int
    last: int
    now: str
    was: str
    moved_frames: tuple[int, int] | None
    text: str


class ComparedStates(AnswerPart):
    """What differs between two states of a shot."""

    shot: str
    before: NamedState
    after: NamedState
    changed_rows: tuple[int, ...]
    changes: tuple[SheetChange, ...]


class CompareAnswer(ComparedStates, Answer):
    """Of `compare`."""

    form: Literal["lipsync compare answer 1"]


class CheckAnswer(Answer):
    """Of `check`: `not_done` are the faults, which have to be mended, and `messages` what is odd."""

    form: Literal["lipsync check answer 1"]
    production: str


class CheckPrintAnswer(Answer):
    """Of `check-print`: which print it is, and whether it is still good; `since` is null if so, or without a shot."""

    form: Literal["lipsync check-print answer 1"]
    stamp: str
    shot: str
    revisions: tuple[str, ...]
    newest: str
    good: bool
    answer: str
    since: ComparedStates | None


class TakenChange(AnswerPart):
    """One thing that changes: of a shot, or of a line; `frames` is by how many, null where nothing is counted."""

    scene: str
    shot: str
    line: str
    what: str
    frames: int | None
    was: str
    now: str


class StockChange(AnswerPart):
    """A number of stock.toml that changes; `was` is null where nothing was written of it."""

    character: str
    code: str
    puppet: str
    what: Literal["there", "fitted", "broke", "ordered"]
    was: int | None
    now: int


class StockAnswer(Answer):
    """Of `stock`: what changes in stock.toml, and the file, if it was written."""

    form: Literal["lipsync stock answer 1"]
    counted: str
    changes: tuple[StockChange, ...]
    files: tuple[str, ...]


class TakeAnswer(Answer):
    """Of `take`: what changes, and the scenes' files that were written; none with `--dry-run`."""

    form: Literal["lipsync take answer 1"]
    changes: tuple[TakenChange, ...]
    files: tuple[str, ...]


class GiveAnswer(Answer):
    """Of `give`: the files that were written."""

    form: Literal["lipsync give answer 1"]
    files: tuple[str, ...]


class LineStandingPart(AnswerPart):
    """A line; `not_done` is why it could not be done, empty if it could."""

    line: str
    character: str
    heard: bool
    doubtful: bool
    checked: bool
    not_done: str


class ShotStandingPart(AnswerPart):
    """A shot; `revision` is its newest print's, `good` whether that is known to be what would be printed now."""

    scene: str
    shot: str
    frames: int
    filmed: int
    revision: str
    good: bool
    stage: Literal["to_do", "doubtful", "heard", "checked", "printed", "filmed"]
    lines: tuple[LineStandingPart, ...]


class StandingPart(AnswerPart):
    """Sums; of a character over the shots in which it speaks, with its own lines alone. Seconds are of film."""

    name: str
    shots: int
    lines: int
    heard: int
    doubtful: int
    checked: int
    not_done: int
    printed: int
    to_print: int
    frames: int
    filmed: int
    seconds_done: float
    seconds_to_do: float
    days_to_do: float


class OverviewAnswer(Answer):
    """Of `overview`: how far each shot is, and sums for each scene, each character and the whole."""

    form: Literal["lipsync overview answer 1"]
    whole: StandingPart
    scenes: tuple[StandingPart, ...]
    characters: tuple[StandingPart, ...]
    shots: tuple[ShotStandingPart, ...]
    files: tuple[str, ...]


FORMS: tuple[type[Answer], ...] = (
    BreakdownAnswer,
    ChartAnswer,
    LabelsAnswer,
    BoardsAnswer,
    CheckAnswer,
    CheckPrintAnswer,
    CompareAnswer,
    CountAnswer,
    FilmedAnswer,
    GiveAnswer,
    LockAnswer,
    OrderAnswer,
    OverviewAnswer,
    PacketAnswer,
    PreviewAnswer,
    Refusal,
    SheetAnswer,
    SideBySideAnswer,
    StockAnswer,
    TakeAnswer,
    WeighAnswer,
    WhyAnswer,
    WorthAnswer,
)


def form_of(answer: type[Answer]) -> str:
    """Return the name and version of a form.

    >>> form_of(SheetAnswer)
    'lipsync sheet answer 1'
    """
    (form,) = get_args(answer.model_fields["form"].annotation)
    return str(form)


def answer_text(answer: type[Answer], record: Mapping[str, Any], report: Report) -> str:
    """Return an answer as JSON.

    Raises:
        pydantic.ValidationError: if it is not of its form, which is a fault of ours.
    """
    told = {"not_done": told_of(report.problems), "messages": told_of(report.messages)}
    made = answer.model_validate({"form": form_of(answer), **record, **told})
    return json.dumps(made.model_dump(mode="json", by_alias=True), indent=2, ensure_ascii=False)


def told_of(messages: Iterable[Message]) -> list[dict[str, str]]:
    """Return messages for a program."""
    return [{**asdict(one), "text": one.text} for one in messages]


def schema_of(answer: type[Answer]) -> dict[str, Any]:
    """Return the JSON Schema (draft 2020-12) of a form."""
    schema = answer.model_json_schema(mode="serialization", by_alias=True)
    return {"$schema": "https://json-schema.org/draft/2020-12/schema", **schema, "title": form_of(answer)}
