"""What a studio decides about fitting: how far the mouth leads its sound, and how its work is weighed.

The table `[fitting]` of a production; a mouth set may have its own. Each default is argued for beside it.
"""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import Field

from lipsync.phonemes import LIP_TO_TEETH, LIPS_CLOSED, VOWELS
from lipsync.tomlfile import Table

LeadFrames = Annotated[int, Field(ge=-4, le=4)]


class Leads(Table):
    """How many frames a mouth is ahead of its sound, by class of sound.

    Common practice: shapes are set one or two frames ahead of their sound; closed lips fall on the closure itself.
    """

    lips_closed: LeadFrames = 0
    lip_to_teeth: LeadFrames = 1
    vowels: LeadFrames = 1
    others: LeadFrames = 1

    def of(self, symbol: str) -> int:
        """Return the lead, in frames, of a phoneme or cue."""
        if symbol in LIPS_CLOSED:
            return self.lips_closed
        if symbol in LIP_TO_TEETH:
            return self.lip_to_teeth
        return self.vowels if symbol in VOWELS else self.others


class FittingSettings(Table):
    """How a track is chosen."""

    on: Literal["ones", "twos", "mixed"] = "ones"
    lead: Leads = Leads()
