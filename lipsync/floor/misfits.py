"""Where the sound no longer fits what is filmed.

In: a job with filmed frames, and its track. Out: the spans of filmed frames on which the mouth is far from the one
that a plan without filmed frames would wear, with both mouths and the words. A mouth that would be right one frame
earlier or later fits: viewers accept that. What counts as far is a setting of the studio (`far` in fit_settings.py).
Closed lips, and a lip under the teeth, must be seen: where they are asked for and none is filmed, that does not fit,
however near the mouth is.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace

from lipsync.fit.fit_job import Job
from lipsync.fit.fitting import fit
from lipsync.fit.lips import row_distance, row_of
from lipsync.floor.spans import Span, spans_of
from lipsync.phonemes import MUST_BE_SEEN
from lipsync.track import FrameTrack


@dataclass(frozen=True, slots=True)
class Misfit:
    """Filmed frames that do not fit.

    Attributes:
        span: first and last frame, from 0.
        worn: the codes that were filmed.
        asked: the codes that a plan without filmed frames would wear.
        words: the texts of the words and cues heard there.
    """

    span: Span
    worn: tuple[str, ...]
    asked: tuple[str, ...]
    words: tuple[str, ...]

    def __str__(self) -> str:
        said = f" (“{' '.join(self.words)}”)" if self.words else ""
        return f"{', '.join(self.worn)} on, {', '.join(self.asked)} asked for{said}"


def misfits(job: Job, track: FrameTrack) -> tuple[Misfit, ...]:
    """Return where the filmed frames of a job no longer fit its sound."""
    if not any(code is not None for code in job.filmed.values()):
        return ()
    free = fit(replace(job, filmed={}))
    far = {frame for frame in job.filmed if _is_far(job, track.pieces[frame], _asked(free.pieces, frame))}
    far.update(_not_seen(job, track, free))
    return tuple(_misfit(free, track, span) for span in spans_of(far))


def _asked(pieces: Sequence[str | None], frame: int) -> tuple[str | None, ...]:
    """Return the codes asked for on a frame and its neighbours."""
    return tuple(pieces[max(0, frame - 1) : frame + 2])


def _is_far(job: Job, worn: str | None, asked: Sequence[str | None]) -> bool:
    """Whether a piece is far from every piece asked for around its frame.

    It is not where a code is unknown to the mouth set, or where nothing is asked for (off camera).
    """
    pieces, asked = job.mouth_set.by_code, [code for code in asked if code is not None]
    if worn not in pieces or not asked or any(code not in pieces for code in asked):
        return False
    lips = row_of(pieces[str(worn)].lips)
    return all(row_distance(lips, row_of(pieces[str(code)].lips)) > job.settings.far for code in asked)


def _not_seen(job: Job, track: FrameTrack, free: FrameTrack) -> Iterator[int]:
    """Yield the frames of sounds that must be seen, of which no filmed frame, or one beside them, shows the shape."""
    pieces = job.mouth_set.by_code
    for sound in job.sounds:
        frames = [frame for frame, served in enumerate(free.serves) if served is sound]
        if sound.symbol not in MUST_BE_SEEN or not frames:
            continue
        around = range(max(0, frames[0] - 1), min(len(track.pieces), frames[-1] + 2))
        worn = [track.pieces[frame] for frame in around if frame in job.filmed]
        shown = {pieces[code].shape for code in worn if code in pieces}
        if len(worn) == len(around) and shown and shown.isdisjoint(job.mouth_set.shapes_of(sound.symbol)):
            yield from (frame for frame in frames if track.pieces[frame] is not None)


def _misfit(free: FrameTrack, track: FrameTrack, span: Span) -> Misfit:
    frames = range(span[0], span[1] + 1)
    return Misfit(
        span,
        _each_once(track.pieces[f] for f in frames),
        _each_once(free.pieces[f] for f in frames),
        _each_once(sound.text for f in frames if (sound := free.serves[f]) is not None),
    )


def _each_once(texts: Iterator[str | None]) -> tuple[str, ...]:
    return tuple(dict.fromkeys(text for text in texts if text is not None))
