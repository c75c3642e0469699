"""What a studio decides about fitting: how far the mouth leads its sound, and what the animator's work costs.

The table `[fitting]` of a production; a mouth set may have its own, which wins for each key that it gives
(`settings_for`). The reason for each default stands beside it. Prices are in the unit of the visual cost: 1 is one
frame of a fully visible sound on which the mouth is as wrong as closed lips are for a wide-open vowel (lips.py).
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import Annotated, Literal

from pydantic import Field, ValidationError

from lipsync.errors import InputError, Problem
from lipsync.phonemes import LIP_TO_TEETH, LIPS_CLOSED, VOWELS
from lipsync.tomlfile import Table, found_and_allowed, place_of

LeadFrames = Annotated[int, Field(ge=-4, le=4)]
Price = Annotated[float, Field(ge=0, le=1000, allow_inf_nan=False, strict=True)]


class Leads(Table):
    """How many frames a mouth is ahead of the lips' own time, by class of sound.

    At 0, the default, a frame shows what a camera would have filmed on it. Real lips move before their sound (half of
    the way to a sound is done up to 65 ms before it begins: tests/MEASURED.md), and the model of lips includes that.
    Common practice sets shapes one or two frames ahead of their sound: the model does so too, where real lips do. A
    lead of one frame more makes the mouth too early, which an audience sees; a studio that wants it sets it here.
    Limits: the picture may be 60 ms ahead of the sound or 40 ms behind (EBU R 37), in film two frames ahead or one
    behind. So a lead of 1 is within both limits, 2 is at the limit for film, and with more, mouth and sound no longer
    seem to belong together.
    """

    lips_closed: LeadFrames = 0
    lip_to_teeth: LeadFrames = 0
    vowels: LeadFrames = 0
    others: LeadFrames = 0

    def of(self, symbol: str) -> int:
        """Return the lead, in frames, of a phoneme or cue."""
        if symbol in LIPS_CLOSED:
            return self.lips_closed
        if symbol in LIP_TO_TEETH:
            return self.lip_to_teeth
        return self.vowels if symbol in VOWELS else self.others


class Prices(Table):
    """The prices of what is weighed against a mouth that looks wrong."""

    # Each fitting. A seam has to be smoothed, so a piece is put on only where it saves a seventh of a wholly wrong
    # frame. Chosen: at this price the sets that ship take no more fittings on filmed speech than without the model of
    # lips, and are twice as near to real lips (tests/MEASURED.md). How much work a higher price saves a studio, and
    # what that does to the looks, is shown by workshop/trade_off.py.
    fitting: Price = 0.14
    # A fitting to a piece further away than `far`, for each unit of distance beyond it: such a leap pops on screen
    # unless the clay is modelled in between.
    jump: Price = 0.2
    # Each frame by which a hold is shorter than `Holds.shortest`: one-frame mouths flicker, and are as much work.
    short_hold: Price = 0.1
    # Each frame by which a hold is longer than `Holds.longest` while the sound changes: the mouth looks dead. A held
    # vowel, and silence, do not count.
    long_hold: Price = 0.1
    # Each frame on which closed lips depart from their sound: they are not worn where they are due, or are worn
    # elsewhere (closures.py). Chosen: more than two fittings, one to close and one to open the lips, so that no
    # departure saves fittings; less than `missed_stress`, so that a stressed vowel without another frame gets one.
    closed_lips: Price = 0.6
    # Each frame on which the lip is under the teeth and no F or V is due: it looks like one. Chosen: a little more
    # than a fitting, so that the piece is put on no earlier than it is due, and replaced in time.
    lip_to_teeth: Price = 0.2
    # A stressed vowel, or a cue, whose shape is not seen at its time. Chosen: more than ten fittings, so that it is
    # rare.
    missed_stress: Price = 3.0


class Holds(Table):
    """How long a mouth stays on, in frames of the production, at whatever rate: an animator counts frames.

    They are not scaled with the rate. Seconds below are at 24 frames a second; a production at 12 or 30 writes its
    own limits. Limits in a mouth set win over the production's at every rate, so a set that is used at several rates
    leaves `[fitting.hold]` to the productions.
    """

    # Two frames are the shortest hold that an audience reads well; chosen, from the habit of animating on twos.
    shortest: Annotated[int, Field(ge=1, le=12)] = 2
    # Half a second at 24; chosen. Longer holds are marked to be kept alive by hand.
    longest: Annotated[int, Field(ge=1, le=48)] = 12
    # Closed lips whose sound lasts so many frames are worn on as many, whatever the lead of the next sound
    # (closures.py). Two: common practice, from memory, and what an audience reads well. With 0, closed lips have no
    # rule of their own.
    closed_lips: Annotated[int, Field(ge=0, le=12)] = 2
    # A silence shorter than this, a quarter of a second at 24, does not bring the mouth to rest; chosen.
    shortest_rest: Annotated[int, Field(ge=0, le=96)] = 6

    def faults(self) -> Iterator[tuple[str, str]]:
        """Yield a fault if shortest is above longest."""
        # If only one is given, the other may be in another file: `settings_for` checks them together.
        both = {"shortest", "longest"} <= self.model_fields_set
        if both and self.shortest and self.longest and self.shortest > self.longest:
            yield "shortest", f"found {self.shortest}, above longest, {self.longest}; write at most that"


class Sizes(Table):
    """What makes a mouth large, as weights: loudness in the character's own range, stress, length of the vowel."""

    # Loudness first: an audience hears a shout and looks for the jaw. Chosen.
    loudness: Price = 0.6
    stress: Price = 0.25
    length: Price = 0.15

    def faults(self) -> Iterator[tuple[str, str]]:
        """Yield a fault if all weights are 0."""
        if (self.loudness, self.stress, self.length) == (0, 0, 0):
            yield "loudness", "stress and length are 0 as well; at least one of the three must be above 0"


class Work(Table):
    """How much of the animator's time a fitting takes, for estimates."""

    # To take the old piece off, put the new one on and smooth the seam. Chosen; measure your own.
    minutes_a_fitting: Annotated[float, Field(ge=0, le=240, allow_inf_nan=False, strict=True)] = 3.0
    hours_a_day: Annotated[float, Field(gt=0, le=24, allow_inf_nan=False, strict=True)] = 8.0

    @property
    def days_a_fitting(self) -> float:
        """How many working days a fitting takes: a small part of one."""
        return self.minutes_a_fitting / (60 * self.hours_a_day)


class FittingSettings(Table):
    """How a track is chosen.

    Attributes:
        on: on which frames a piece may change: on all (ones), on every other frame of the shot (twos), or on every
            other frame, and on all for closed lips and lip to teeth (mixed).
        lead: by how many frames the mouth is ahead of the lips' own time.
        price: what a fitting, a leap, a short or long hold, a missed vowel cost.
        hold: limits of holds and rests.
        size: what makes a mouth large.
        work: how much time a fitting takes, for estimates.
        far: distance of two pieces (lips.py) beyond which a change is a leap and is modelled between keys: about as
            far as from closed lips to a spoken open mouth; chosen.
    """

    on: Literal["ones", "twos", "mixed"] = "ones"
    lead: Leads = Leads()
    price: Prices = Prices()
    hold: Holds = Holds()
    size: Sizes = Sizes()
    work: Work = Work()
    far: Annotated[float, Field(ge=0, le=2, allow_inf_nan=False, strict=True)] = 0.6


def settings_for(production: FittingSettings, own: FittingSettings | None) -> FittingSettings:
    """Return the production's settings, overruled by a mouth set's own for each key that the set gives.

    Raises:
        InputError: if the two together have a fault, such as shortest above longest; it names no file.

    >>> settings_for(FittingSettings(on="twos"), FittingSettings(price=Prices(fitting=0.5))).on
    'twos'
    """
    said = {} if own is None else own.model_dump(exclude_unset=True)
    merged = production.model_dump()
    for key, value in said.items():
        merged[key] = {**merged[key], **value} if isinstance(value, dict) else value
    try:
        return FittingSettings.model_validate(merged)
    except ValidationError as error:
        faults = [(place_of(merged, fault["loc"]), found_and_allowed(fault)) for fault in error.errors()]
        raise InputError([Problem("", f"[fitting] {place}", text) for place, text in faults]) from None
