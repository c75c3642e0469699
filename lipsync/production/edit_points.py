"""What an edit's event says of its line: where it begins in its shot, and which part of its recording it is.

In: a draft with its event, and its shot. Out: values as they are written in the scene's file, and in microseconds.
"""

from __future__ import annotations

from lipsync import timing
from lipsync.production.drafts import Draft, Joining, ShotDraft
from lipsync.production.listed import EditEvent


def begins_in_edit(joining: Joining, draft: Draft, shot: ShotDraft) -> tuple[int | str, int]:
    """Return where a line begins by its event: as it is to be written, and in microseconds of its shot.

    It is written as a frame number if the line has one now, else as a timecode.

    Raises:
        ValueError: if the shot's start is no timecode, or the event is far from the shot.
    """
    assert draft.edit is not None
    production = joining.production
    start, drop = timing.parse_timecode(shot.start, production.rate)
    frame = draft.edit.record[0] - start
    begins_us = timing.frame_start_us(frame, production.rate)
    label = timing.timecode(draft.edit.record[0], production.rate, drop=drop)
    if shot.frames is not None and frame >= shot.frames:
        raise ValueError(f"begins at {label}, after shot {shot.id} ends, which starts at {shot.start}")
    if draft.present is not None and isinstance(draft.present[1].begins, int):
        return timing.number_of(frame, production.file.first_frame), begins_us
    return label, begins_us


def points_in_edit(
    joining: Joining, event: EditEvent, recording: str, length_us: int | None
) -> tuple[int | None, int | None]:
    """Return the part of a recording that an event takes: its first frame, and the frame after its last.

    None stands for the recording's own beginning and end. Frames are counted from the recording's beginning.

    Raises:
        ValueError: if the recording is shorter than that part.
    """
    assert event.source is not None
    rate = joining.production.rate
    facts = joining.index.facts(recording)
    stamp = facts.stamp_frame(rate) if facts else None
    first, end = event.source
    if stamp and first >= stamp:
        first, end = first - stamp, end - stamp
    length = None if length_us is None else timing.frames_covering(length_us, rate)
    if length is not None and end > length:
        given = f", and its time stamp is {timing.timecode(stamp, rate)}" if stamp else ""
        raise ValueError(
            f"takes frames {first} to {end} of {recording}, which lasts {length} frames{given}: longer than it is; "
            "is it the recording that was cut?"
        )
    return first or None, None if end == length else end
