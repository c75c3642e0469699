"""The answers that commands give with `--json`: a class for the form of each answer, checked before it is printed.

Every answer names its form, such as "lipsync sheet answer 1"; the number rises when a program that reads the form has
to change. Every answer also lists what was not done (exit code 4) and what is to be known. If nothing was done (exit
code 3, 4 or 5), the answer is a `Refusal`. Frames are numbered as in the production; times are in seconds from the
recording's `in` point; files are paths in the form in which the command got them.

lipsync/formats/json/ holds a JSON Schema of each form, written by tests/make_schemas.py; the docstrings below are its
descriptions.
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
    """A part of an answer; it has no other keys than those documented."""

    model_config = ConfigDict(extra="forbid", frozen=True)


class AnswerMessage(AnswerPart):
    """One thing to know or to mend; a field that does not apply is empty.

    `text` is `what` and `remedy` as one sentence.
    """

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
    """The keys that every answer has: its form, what was not done, and what is to be known."""

    form: str
    not_done: tuple[AnswerMessage, ...]
    messages: tuple[AnswerMessage, ...]


class Refusal(Answer):
    """The answer if nothing was done: `not_done` says why; `exit_code` is the exit code of the program."""

    form: Literal["lipsync refusal 1"]
    exit_code: Literal[3, 4, 5]


class AnswerPhoneme(AnswerPart):
    """A phoneme in time, in ARPAbet; vowels have their stress."""

    phoneme: str
    start_s: float
    end_s: float


class AnswerWord(AnswerPart):
    """A word in time. `from` is the source of its pronunciation; `confidence` is 0 to 1, null if not judged."""

    word: str
    origin: Origin = Field(alias="from")
    confidence: float | None
    doubtful: bool
    corrected: bool
    start_s: float
    end_s: float
    phonemes: tuple[AnswerPhoneme, ...]


class AnswerCue(AnswerPart):
    """A cue in time: a sound that is not a word, such as a breath."""

    cue: str
    start_s: float
    end_s: float


class AnswerStretch(AnswerPart):
    """A stretch of the recording."""

    start_s: float
    end_s: float


class AnswerVoice(AnswerPart):
    """A character's voice factor (null if each line finds its own), and the lines from which its voice was found."""

    character: str
    voice_factor: float | None
    set_by: Literal["hand", "lines", "each line"]
    found_from: tuple[str, ...]
    adapted_from: tuple[str, ...]
    passed_over: tuple[str, ...]


class AnswerLine(AnswerPart):
    """A line with its breakdown; `search` is the step of the ladder of searches that found it.

    `rejection` is why sound and text do not match, null if they match. `voice_without_text` lists where a voice is
    heard but the text has nothing.
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
    """The answer of `breakdown`: the lines that were done, the characters' voices, and the TextGrids written."""

    form: Literal["lipsync breakdown answer 1"]
    lines: tuple[AnswerLine, ...]
    voices: tuple[AnswerVoice, ...]
    files: tuple[str, ...]


class SheetAnswer(Answer):
    """The answer of `sheet`: the sheets that were written, in the order of the shots."""

    form: Literal["lipsync sheet answer 1"]
    files: tuple[str, ...]


class PacketAnswer(Answer):
    """The answer of `packet`: the packets that were written."""

    form: Literal["lipsync packet answer 1"]
    files: tuple[str, ...]


class PreviewAnswer(Answer):
    """The answer of `preview`: the movies that were written."""

    form: Literal["lipsync preview answer 1"]
    files: tuple[str, ...]


class ChartAnswer(Answer):
    """The answer of `chart`: the mouth charts that were written."""

    form: Literal["lipsync chart answer 1"]
    files: tuple[str, ...]


class LabelsAnswer(Answer):
    """The answer of `labels`: the file that was written, and how many labels and sheets of labels it has."""

    form: Literal["lipsync labels answer 1"]
    labels: int
    sheets: int
    files: tuple[str, ...]


class BoardPiece(AnswerPart):
    """A piece on a puppet's board for a scene: how many of it are there, and how often it is put on."""

    puppet: str
    scene: str
    code: str
    count: int
    times_fitted: int


class BoardsAnswer(Answer):
    """The answer of `boards`: a row for each piece on each board, and the file that was written."""

    form: Literal["lipsync boards answer 1"]
    pieces: tuple[BoardPiece, ...]
    files: tuple[str, ...]


class CountedPiece(AnswerPart):
    """How much a piece is used, and how many are needed: by the shooting plan, or one for each puppet."""

    character: str
    code: str
    frames_seen: int
    times_fitted: int
    scenes: tuple[str, ...]
    pieces_needed: int


class CountAnswer(Answer):
    """The answer of `count`: a row for each character and piece; `by_plan` is whether a shooting plan was used."""

    form: Literal["lipsync count answer 2"]
    by_plan: bool
    pieces: tuple[CountedPiece, ...]
    files: tuple[str, ...]


class OrderedPiece(AnswerPart):
    """The pressings of a piece that are needed, there, on the way and to make, and the puppets that need it.

    `pressings_needed` is the sum of `at_once` (on the busiest day), `changing_over`, `used_up` and `spares`.
    `needed_by` has for each pressing to make the first day on which it is needed. `minutes`, `moulds` and `price` are
    null if the studio gives no figures.
    """

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
    """A piece that goes from one puppet's board to another's; `day` is the first day on which it is needed there."""

    day: str
    code: str
    giver: str
    taker: str


class MadeWork(AnswerPart):
    """What pressings take to make; a number is null if no figure is given for any of them."""

    pressings: int
    minutes: float | None
    moulds: int | None
    batches: int | None
    price: float | None


class MadeWeek(MadeWork):
    """What the pressings take that are first on a board in a calendar week (ISO 8601, such as 2026-W49)."""

    week: str


class MadePart(AnswerPart):
    """A piece of a character."""

    character: str
    code: str


class WorkshopWork(AnswerPart):
    """What an order takes to make; `not_given` has for each number the pieces that are missing in its sums."""

    currency: str
    total: MadeWork
    weeks: tuple[MadeWeek, ...]
    not_given: Mapping[str, tuple[MadePart, ...]]


class OrderedGroup(AnswerPart):
    """Pressings of a piece to make for a group: a scene, puppet, week or character.

    `group` is null for spares, which belong to no scene and no puppet, and for all weeks where no days are planned.
    """

    group: str | None
    character: str
    code: str
    pressings_to_make: int


class OrderAnswer(Answer):
    """The answer of `order`: a row for each character and piece, each puppet's board by codes, and the hand-overs.

    In a row, `heads` are the puppets whose heads take the piece. `revision` and `stamp` are null if the order was
    only looked at. `missing` lists what must be known before the order is used. `making` is null if the studio gives
    no figures; `groups` is filled if `--by` asks for it, and `by` says by what.
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
    """What a scene takes at a price of a fitting. The unit of costs is one frame with the worst possible mouth."""

    price: float
    fittings: int
    fittings_a_second: float
    visual_cost: float
    other_cost: float
    days: float
    setting: Literal["present", ""]


class WeighAnswer(Answer):
    """The answer of `weigh`: a row for each price of a fitting, the lowest first."""

    form: Literal["lipsync weigh answer 1"]
    rows: tuple[WeighedPrice, ...]
    files: tuple[str, ...]


class WorthSet(AnswerPart):
    """The best set with a number of pieces. `next_brings` is by how much one piece more lowers the loss.

    It is null for the whole set. `not_worn` are those of its pieces that no frame of the real tracks wears.
    """

    pieces: int
    loss: float
    next_brings: float | None
    visual_cost: float
    fittings: int
    not_seen: int
    codes: tuple[str, ...]
    not_worn: tuple[str, ...] = ()
    pressings: int | None = None
    minutes: float | None = None
    moulds: int | None = None
    batches: int | None = None
    price: float | None = None


class WorthAnswer(Answer):
    """The answer of `worth`: a row for each number of pieces, the fewest first.

    `pressings`, `minutes`, `moulds`, `batches` and `price` of a set are null if the studio gives no figures.
    """

    form: Literal["lipsync worth answer 2"]
    rows: tuple[WorthSet, ...]
    files: tuple[str, ...]


class TriedSide(AnswerPart):
    """One of the two ways that are compared. `pieces_needed` is by character, for frames that are not filmed yet."""

    fittings: int
    visual_cost: float
    visual_cost_by_tried: float
    cost_with_fittings: float
    not_seen: int
    pieces_needed: Mapping[str, int]


class SideBySideAnswer(Answer):
    """The answer of `side-by-side`: the present way and the tried one.

    `mean_distance` is the mean, over all frames, of the distance between their mouths.
    """

    form: Literal["lipsync side-by-side answer 1"]
    scene: str
    frames: int
    frames_that_differ: int
    mean_distance: float
    present: TriedSide
    tried: TriedSide
    files: tuple[str, ...]


class CompetingSound(AnswerPart):
    """A sound that competes for a frame: `fills` is the part of the frame it fills, `counts` how much it counts."""

    sound: str
    line: str | None
    word: str | None
    shape: str
    fills: float
    counts: float
    coarticulation: float


class PossiblePiece(AnswerPart):
    """What a piece would cost on the frame: how unlike it is to what the lips do, and the whole shot's extra cost.

    The latter, `more`, is null if the piece may not be worn there.
    """

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
    """The answer of `why`: one entry for each character that is on camera."""

    form: Literal["lipsync why answer 1"]
    answers: tuple[WhyOfCharacter, ...]


class WornRun(AnswerPart):
    """A run of frames on which the same piece was worn and the same piece was planned; null is off camera."""

    first: int
    last: int
    code: str | None
    planned: str | None


class ModelledRun(AnswerPart):
    """What was done by hand on a run of frames; `code` is the piece toward which the clay was modelled, else null."""

    first: int
    last: int
    what: Literal["toward", "keep alive", "not modelled"]
    code: str | None


class FilmedEvent(AnswerPart):
    """Something that happened to frames. `frames` has the first and the last frame of each run.

    `modelled` is null if modelling by hand was not recorded.
    """

    number: int
    what: Literal["lock", "mend", "unlock", "refilm"]
    frames: tuple[tuple[int, int], ...]
    revision: str
    stamp: str
    modelled: Mapping[str, tuple[ModelledRun, ...]] | None
    reason: str
    dated: str | None


class FilmedOfShot(AnswerPart):
    """The part of a shot that is in the can: first and last frame of each run, and what each character wore."""

    scene: str
    shot: str
    frames: int
    filmed: tuple[tuple[int, int], ...]
    worn: Mapping[str, tuple[WornRun, ...]]
    events: tuple[FilmedEvent, ...]


class FilmedAnswer(Answer):
    """The answer of `filmed`: a row for each shot."""

    form: Literal["lipsync filmed answer 1"]
    shots: tuple[FilmedOfShot, ...]


class LockAnswer(Answer):
    """The answer of `lock`, `unlock` and `refilm`: what was done, and which frames of the shot are in the can now."""

    form: Literal["lipsync lock answer 1"]
    done: tuple[AnswerMessage, ...]
    shots: tuple[FilmedOfShot, ...]


class NamedState(AnswerPart):
    """A state of a sheet: the letter of a revision, or "now", and its stamp."""

    state: str
    stamp: str


class SheetChange(AnswerPart):
    """One thing that changed. `moved_frames` are the least and the largest move in frames; negative is earlier."""

    kind: str
    character: str
    first: int
    last: int
    now: str
    was: str
    moved_frames: tuple[int, int] | None
    text: str


class ComparedStates(AnswerPart):
    """The differences between two states of a shot."""

    shot: str
    before: NamedState
    after: NamedState
    changed_rows: tuple[int, ...]
    changes: tuple[SheetChange, ...]


class CompareAnswer(ComparedStates, Answer):
    """The answer of `compare`: the differences between two states of a shot."""

    form: Literal["lipsync compare answer 1"]


class CheckAnswer(Answer):
    """The answer of `check`: `not_done` has the faults that must be mended, `messages` what may be a mistake."""

    form: Literal["lipsync check answer 1"]
    production: str


class CheckPrintAnswer(Answer):
    """The answer of `check-print`: which print the page is, and whether it is still good.

    `since` has what changed since; it is null if the print is still good, or if its shot is gone.
    """

    form: Literal["lipsync check-print answer 1"]
    stamp: str
    shot: str
    revisions: tuple[str, ...]
    newest: str
    good: bool
    answer: str
    since: ComparedStates | None


class TakenChange(AnswerPart):
    """One thing that changes, of a shot or of a line; `frames` is by how many frames, null if none are counted."""

    scene: str
    shot: str
    line: str
    what: str
    frames: int | None
    was: str
    now: str


class StockChange(AnswerPart):
    """A number of stock.toml that changes; `was` is null if the file did not have it."""

    character: str
    code: str
    puppet: str
    what: Literal["there", "fitted", "broke", "ordered"]
    was: int | None
    now: int


class StockAnswer(Answer):
    """The answer of `stock`: what changes in stock.toml, and the file, if it was written."""

    form: Literal["lipsync stock answer 1"]
    counted: str
    changes: tuple[StockChange, ...]
    files: tuple[str, ...]


class TakeAnswer(Answer):
    """The answer of `take`: what changes, and the scenes' files that were written; no files with `--dry-run`."""

    form: Literal["lipsync take answer 1"]
    changes: tuple[TakenChange, ...]
    files: tuple[str, ...]


class GiveAnswer(Answer):
    """The answer of `give`: the files that were written."""

    form: Literal["lipsync give answer 1"]
    files: tuple[str, ...]


class LineStandingPart(AnswerPart):
    """How far a line is; `not_done` is why it could not be done, empty if it could."""

    line: str
    character: str
    heard: bool
    doubtful: bool
    checked: bool
    not_done: str


class ShotStandingPart(AnswerPart):
    """How far a shot is. `revision` is that of its newest print; `good` is whether it is known to be up to date."""

    scene: str
    shot: str
    frames: int
    filmed: int
    revision: str
    good: bool
    stage: Literal["to_do", "doubtful", "heard", "checked", "printed", "filmed"]
    lines: tuple[LineStandingPart, ...]


class StandingPart(AnswerPart):
    """Sums over shots and lines. Those of a character are over the shots in which it speaks, and over its own lines.

    Seconds are seconds of film.
    """

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
    """The answer of `overview`: how far each shot is, and sums for each scene, for each character, and for all."""

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
