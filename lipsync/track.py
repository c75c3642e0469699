"""The values that pass from a shot's sounds to its sheet and its counts. All are frozen.

Times are whole microseconds from the start of the shot. Frames are counted from 0 in the shot. Codes name pieces of
the character's mouth set.

    Sound       one phoneme or cue of one line, in shot time: what a frame can show
    PieceTrack  the piece on each frame of a shot for one character
    FrameTrack  the same, and the sound that each frame shows
    PartTrack   the parts that are no mouths on each frame, one at a time
"""

from __future__ import annotations

from dataclasses import dataclass
from itertools import groupby

from lipsync.model import Breakdown, Cue


@dataclass(frozen=True, slots=True)
class Sound:
    """One phoneme or cue of one line, in shot time: what a frame can show.

    Attributes:
        line: the line's id.
        part: index of the part of the line's breakdown that it belongs to, from 0.
        symbol: ARPAbet without stress, or the cue's name in brackets, such as "[breath]".
        text: the word, or the cue's name in brackets.
        start_us: first microsecond in the shot (below 0 where a line began before the shot).
        end_us: first microsecond after it.
        stress: 0, 1 or 2 for vowels, else None.
        level_db: level in dB below full scale; None if not measured.
        doubtful: whether its word is doubtful.
    """

    line: str
    part: int
    symbol: str
    text: str
    start_us: int
    end_us: int
    stress: int | None = None
    level_db: float | None = None
    doubtful: bool = False

    @property
    def is_cue(self) -> bool:
        """Whether it is a cue, not a phoneme."""
        return self.symbol.startswith("[")


def sounds_of(breakdown: Breakdown, line: str, begins_us: int) -> tuple[Sound, ...]:
    """Return the sounds of a line in the time of its shot, in which the line begins at `begins_us`."""
    sounds: list[Sound] = []
    for index, part in enumerate(breakdown.parts):
        if isinstance(part, Cue):
            name = f"[{part.name}]"
            sounds.append(Sound(line, index, name, name, begins_us + part.start_us, begins_us + part.end_us))
            continue
        sounds += [
            Sound(
                line,
                index,
                p.symbol,
                part.text,
                begins_us + p.start_us,
                begins_us + p.end_us,
                p.stress,
                p.level_db,
                part.doubtful,
            )
            for p in part.phonemes
        ]
    return tuple(sounds)


@dataclass(frozen=True, slots=True)
class Fitting:
    """A piece put on the puppet at a frame, and for how many frames it is then worn."""

    frame: int
    code: str
    hold: int


@dataclass(frozen=True, slots=True)
class Lost:
    """A sound that should be seen and that no frame shows, with the reason in words."""

    sound: Sound
    reason: str


@dataclass(frozen=True, slots=True)
class PartWorn:
    """A replacement part that is no mouth, such as brows, from a frame to another, both included; listed by hand."""

    kind: str
    code: str
    first: int
    last: int

    @property
    def frames(self) -> int:
        """How many frames it is on."""
        return self.last - self.first + 1


@dataclass(frozen=True, slots=True)
class PieceTrack:
    """Which piece is worn on each frame of a shot by one character.

    Attributes:
        character: the character's id.
        pieces: a code for each frame of the shot; None where the character is off camera.
    """

    character: str
    pieces: tuple[str | None, ...]

    @property
    def fittings(self) -> tuple[Fitting, ...]:
        """The fittings: on the first frame on camera, and wherever the piece differs from the one worn before.

        >>> track = PieceTrack("heron", ("RS", "RS", None, "RS", "OP1"))
        >>> [(f.frame, f.code, f.hold) for f in track.fittings]
        [(0, 'RS', 3), (4, 'OP1', 1)]
        """
        found: list[Fitting] = []
        on_camera = ((frame, code) for frame, code in enumerate(self.pieces) if code is not None)
        for code, run in groupby(on_camera, lambda one: one[1]):
            frames = [frame for frame, _ in run]
            found.append(Fitting(frames[0], code, len(frames)))
        return tuple(found)


@dataclass(frozen=True, slots=True)
class FrameTrack(PieceTrack):
    """Which piece is worn on each frame, and what it shows.

    Attributes:
        serves: the sound that each frame shows; None at rest and off camera.
        lost: the sounds that must be seen and are not.
    """

    serves: tuple[Sound | None, ...]
    lost: tuple[Lost, ...] = ()

    def __post_init__(self) -> None:
        if len(self.pieces) != len(self.serves):
            raise ValueError(f"{self.character}: {len(self.pieces)} pieces for {len(self.serves)} frames")
        if any(code is None and sound is not None for code, sound in zip(self.pieces, self.serves, strict=True)):
            raise ValueError(f"{self.character}: a frame off camera cannot show a sound")


@dataclass(frozen=True, slots=True)
class PartTrack(PieceTrack):
    """Which parts are worn, one at a time; where none is listed (None), whatever was on is taken off.

    >>> track = PartTrack("heron", ("BRUP", "BRUP", None, "BRUP"))
    >>> [(f.frame, f.code, f.hold) for f in track.fittings]
    [(0, 'BRUP', 2), (3, 'BRUP', 1)]
    """

    @property
    def fittings(self) -> tuple[Fitting, ...]:
        """Each fitting: where a part begins, whether or not the same one was on before."""
        found: list[Fitting] = []
        for code, run in groupby(enumerate(self.pieces), lambda one: one[1]):
            frames = [frame for frame, _ in run]
            if code is not None:
                found.append(Fitting(frames[0], code, len(frames)))
        return tuple(found)
