"""A line's draft resolved: who, what, which recording and when, as it is to be written; or why it cannot be.

In: a draft with what each source said of it. Out: a `WantedLine`. A row that says something wrong is a problem, and
nothing at all is taken; where something is only missing, this line alone is left out (`Joining.unplaced`).
"""

from __future__ import annotations

from lipsync import timing
from lipsync.production.drafts import Draft, Duration, Joining
from lipsync.production.edit_points import begins_in_edit, points_in_edit
from lipsync.production.listed import EditEvent, Listed
from lipsync.production.wanted import WantedLine
from lipsync.production.written_times import begins_us, point_us


class _MissingError(Exception):
    """Something of a line is missing: this line alone is left out."""


def resolved(joining: Joining, draft: Draft, duration_us: Duration) -> WantedLine | None:
    """Return a line as it will be; None if it cannot be resolved: the joining's `problems` or `unplaced` say why."""
    try:
        return _resolved(joining, draft, duration_us)
    except _MissingError as missing:
        joining.unplaced.append(draft.row.fault(f"line {draft.line_id}".strip(), str(missing)))
    except _WrongError as wrong:
        joining.problems.append((wrong.row or draft.row).fault(wrong.what, wrong.text))
    return None


class _WrongError(Exception):
    """A row or an event says something wrong: nothing is taken."""

    def __init__(self, what: str, text: str, row: Listed | EditEvent | None = None) -> None:
        self.what, self.text, self.row = what, text, row


def _resolved(joining: Joining, draft: Draft, duration_us: Duration) -> WantedLine:
    there = draft.present[1] if draft.present else None
    wrong: list[_WrongError] = []
    character = there.character if there else None
    if said := draft.row.character or (draft.character if there is None else None):
        try:
            character = joining.names.character(said)
        except ValueError as error:
            wrong.append(_WrongError("character", str(error)))
    text = draft.row.text or draft.text or (there.text if there else None)
    if there is not None and text is not None and text.split() == there.text.split():
        text = there.text  # lists do not keep line breaks
    recording = None
    try:
        recording = _recording(joining, draft)
    except _WrongError as error:
        wrong.append(error)
    if wrong:
        for one in wrong[:-1]:
            joining.problems.append(draft.row.fault(one.what, one.text))
        raise wrong[-1]
    if missing := [
        name for name, has in (("character", character), ("text", text), ("recording", recording)) if not has
    ]:
        raise _MissingError(f"has no {' and no '.join(missing)}; add it to the list, or give what says it along")
    assert character is not None
    assert text is not None
    assert recording is not None
    if draft.edit is not None:
        return _by_edit(joining, draft, duration_us, (character, recording, text))
    return _by_list(joining, draft, duration_us, (character, recording, text))


def _recording(joining: Joining, draft: Draft) -> str | None:
    """Return a line's recording as a scene's file names it; None if nothing names it."""
    for name in draft.edit.names if draft.edit else ():
        if len(found := joining.index.found(name)) == 1:
            return found[0]
    called = draft.said_recording
    if called is None:
        return None
    if draft.present and called == draft.present[1].recording:
        return called  # if it is missing, that is told when the line is listened to
    found = joining.index.found(called)
    if draft.present and draft.present[1].recording in found:
        return draft.present[1].recording
    if not found:
        where = ", ".join(str(place) for place in joining.index.searched)
        raise _WrongError("recording", f"{called!r} was not found; looked in {where}")
    if len(found) > 1:
        raise _WrongError("recording", f"{called!r} may be {' or '.join(found)}; name it with its folder")
    return found[0]


def _by_edit(joining: Joining, draft: Draft, duration_us: Duration, said: tuple[str, str, str]) -> WantedLine:
    assert draft.edit is not None
    character, recording, text = said
    shot = joining.shot(draft.scene, draft.shot)
    try:
        begins, at_us = begins_in_edit(joining, draft, shot)
        first, end = points_in_edit(joining, draft.edit, recording, duration_us(recording))
    except ValueError as error:
        raise _WrongError("", str(error), draft.edit) from None
    rate = joining.production.rate
    in_us, out_us = (None if at is None else timing.frame_start_us(at, rate) for at in (first, end))
    there = draft.present[1] if draft.present else None
    if end is None and there and there.recording == recording and there.out_us is not None:
        length_us = duration_us(recording)
        if length_us is not None and there.out_us > length_us - timing.frame_start_us(1, rate):
            out_us = there.out_us  # an edit rounds the end up to a whole frame
    return WantedLine(
        draft.line_id,
        character,
        recording,
        text,
        begins,
        at_us,
        None if first is None else f"{first} f",
        in_us,
        None if end is None else f"{end} f",
        out_us,
        whole_frames=True,
    )


def _by_list(joining: Joining, draft: Draft, duration_us: Duration, said: tuple[str, str, str]) -> WantedLine:
    character, recording, text = said
    row, there = draft.row, draft.present[1] if draft.present else None
    same_recording = there is not None and there.recording == recording
    in_us, in_point = _point(joining, "in", row.in_point, recording)
    out_us, out_point = _point(joining, "out", row.out_point, recording)
    if draft.points_us is not None:
        in_us, out_us = draft.points_us
    elif there is not None and same_recording:
        in_us = there.in_us if row.in_point is None else in_us
        out_us = there.out_us if row.out_point is None else out_us
    if out_us is not None and out_us <= (in_us or 0):
        raise _WrongError("out", "is not after in; out must be later than in")
    length_us = duration_us(recording)
    if (
        length_us is not None
        and max(in_us or 0, (out_us or 0) - timing.frame_start_us(1, joining.production.rate)) >= length_us
    ):
        raise _WrongError(
            "out" if out_us else "in",
            f"is after the end of {recording}, which lasts {timing.seconds_of(length_us):.3f} s",
        )
    if length_us is not None and out_us is not None and out_us > length_us:
        out_us = out_point = None
    begins, at_us = _begins(joining, draft, recording, in_us or 0)
    return WantedLine(
        draft.line_id, character, recording, text, begins, at_us, in_point, in_us, out_point, out_us
    )  # fmt: skip


def _point(
    joining: Joining, what: str, value: float | str | None, recording: str
) -> tuple[int | None, float | str | None]:
    if value is None:
        return None, None
    if not isinstance(value, str):
        return timing.us_of_seconds(value), value
    facts = joining.index.facts(recording) if ":" in value else None
    try:
        return point_us(value, joining.production.rate, facts.stamp_us or 0 if facts else 0), value
    except ValueError as error:
        raise _WrongError(what, str(error)) from None


def _begins(joining: Joining, draft: Draft, recording: str, in_us: int) -> tuple[int | str, int]:
    """Return where a line begins, as it is to be written and in microseconds from its shot's first frame.

    By the list; else as the production has it, if shot and recording are the same; else by the recording's time
    stamp; else as the production has it, if the shot is the same.

    Raises:
        _MissingError: if none of these says it.
        _WrongError: if the list says it wrongly.
    """
    production, shot = joining.production, joining.shot(draft.scene, draft.shot)
    there = draft.present
    if draft.row.begins is not None:
        try:
            return draft.row.begins, begins_us(
                draft.row.begins, shot.start, production.rate, production.file.first_frame
            )
        except ValueError as error:
            raise _WrongError("begins", str(error)) from None
    if there is not None and there[0].id == draft.shot and there[1].recording == recording:
        return there[1].begins, production.begins_us(there[1], there[0])
    facts = joining.index.facts(recording)
    if facts is not None and facts.stamp_us is not None and shot.frames is not None:
        start, drop = timing.parse_timecode(shot.start, production.rate)
        frame = timing.nearest_frame(facts.stamp_us + in_us, production.rate)
        if start - production.rate.numerator <= frame < start + shot.frames:
            label = timing.timecode(frame, production.rate, drop=drop)
            return label, timing.frame_start_us(frame - start, production.rate)
        label = timing.timecode(frame, production.rate, drop=drop)
        raise _MissingError(
            f"has no begins, and the time stamp of {recording}, {label}, is not in its shot, which starts at "
            f"{shot.start}; add a column begins, or give the edit"
        )
    if there is not None and there[0].id == draft.shot:
        return there[1].begins, production.begins_us(there[1], there[0])
    raise _MissingError("has no begins, and its recording no time stamp; add a column begins, or give the edit")
