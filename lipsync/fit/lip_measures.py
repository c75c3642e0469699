"""What callipers find on a piece, and the numbers of its `lips`: from one to the other.

In: lengths in parts of the width of the mouth at rest, from corner to corner. Out: `Lips`; and back. The
rest piece is the scale: its width is 1, and its own number for width 0.5. That numbers are proportional to lengths
follows filmed lips, which opening and width were learned from (lips_in_time.py); which length makes 1 is chosen, so
that the program's own drawings (mouth_drawing.py) measure what their numbers say. How far lips stand out has no place
in a drawing from the front: a quarter of the mouth is chosen, as lips that are pushed out in earnest are some 10 mm
in front of flat ones on a mouth of some 50 mm (from memory).
"""

from __future__ import annotations

from dataclasses import dataclass

from lipsync.fit.mouthset import Lips

# Lengths that make 1, in widths of a mouth at rest whose width is 0.5 and whose rounding 0.1; of the tongue, in
# heights of the gap.
GAP, OUT, TEETH, TONGUE = 0.6, 0.25, 0.25, 0.8

# Width: so much a width of the mouth, less so much; corners of lips that are pushed out are nearer by so much.
SLOPE, OFFSET, DRAWN_IN = 2.0, 1.59, 0.42


@dataclass(frozen=True, slots=True)
class LipLengths:
    """Lengths on a piece, in widths of the mouth at rest.

    Attributes:
        gap: between the inner edges of the lips, in the middle.
        across: between the corners of the mouth.
        out: from the front of flat lips to that of these.
        teeth: how much of the upper teeth is seen in the middle, from the lip down, over the lower lip too.
        tongue: from the inner edge of the lower lip up to the top of the tongue.
    """

    gap: float
    across: float
    out: float = 0.0
    teeth: float = 0.0
    tongue: float = 0.0


@dataclass(frozen=True, slots=True)
class LipScale:
    """The lengths that make 1 on pieces of one set, whose mouth at rest is the measure.

    >>> scale = LipScale(Lips(opening=0.04, width=0.5, rounding=0.1))
    >>> found = scale.lengths_of(Lips(opening=0.45, width=0.5, rounding=0.1))
    >>> round(found.gap, 2), round(found.across, 2), round(found.out, 3)
    (0.27, 1.0, 0.025)
    >>> scale.lips_of(LipLengths(gap=0.27, across=1.0, out=0.025))
    Lips(opening=0.45, width=0.5, rounding=0.1, teeth=0.0, tongue=0.0)
    """

    rest: Lips

    @property
    def unit(self) -> float:
        """How wide the mouth at rest is, beside one whose width is 0.5 and whose rounding 0.1."""
        return (self.rest.width + OFFSET) / SLOPE * (1 - DRAWN_IN * self.rest.rounding)

    @property
    def gap(self) -> float:
        """The gap that makes an opening of 1."""
        return GAP / self.unit

    @property
    def out(self) -> float:
        """How far out lips stand that are rounded by 1."""
        return OUT / self.unit

    @property
    def teeth(self) -> float:
        """How much of the teeth is seen where their number is 1."""
        return TEETH / self.unit

    @property
    def slope(self) -> float:
        """How much width there is to a length across."""
        return SLOPE * self.unit

    def lengths_of(self, lips: Lips) -> LipLengths:
        """Return what callipers should find on a piece."""
        gap = self.gap * lips.opening
        across = (lips.width + OFFSET) / self.slope * (1 - DRAWN_IN * lips.rounding)
        return LipLengths(gap, across, self.out * lips.rounding, self.teeth * lips.teeth, TONGUE * lips.tongue * gap)

    def lips_of(self, lengths: LipLengths) -> Lips:
        """Return the numbers of a piece, none below 0 or above 1."""
        rounding = min(1.0, lengths.out / self.out)
        numbers = {
            "opening": lengths.gap / self.gap,
            "width": self.slope * lengths.across / (1 - DRAWN_IN * rounding) - OFFSET,
            "rounding": rounding,
            "teeth": lengths.teeth / self.teeth,
            "tongue": lengths.tongue / (TONGUE * lengths.gap) if lengths.gap else 0.0,
        }
        return Lips(**{name: round(min(1.0, max(0.0, number)), 2) for name, number in numbers.items()})
