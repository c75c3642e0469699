"""Lists, edits, scripts and recordings put together: what the scenes will say that they are about.

In: a production, `Listing`s and the recordings. Out: `WantedScenes`. Each fact has its source: words and who says
them come from the list; where a line lies, and which part of a recording it is, from the edit, else from the list;
the beginning of a line that has none yet from the time stamp of its recording. What no source says stays as it is. A
line is known by its id; without one, by its recording and words.
"""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Sequence

from lipsync import timing
from lipsync.errors import Problem
from lipsync.production.drafts import Cut, Draft, Duration, Joining, SaidLine, ShotDraft
from lipsync.production.edit_places import place_edit
from lipsync.production.line_ids import give_ids
from lipsync.production.listed import Listed, Listing
from lipsync.production.naming import Names
from lipsync.production.recording_index import RecordingIndex
from lipsync.production.resolving import resolved
from lipsync.production.speeches import fill_speeches
from lipsync.production.values import Production
from lipsync.production.wanted import WantedLine, WantedScene, WantedScenes, WantedShot, as_it_is


def join(
    production: Production,
    listings: Sequence[Listing],
    index: RecordingIndex,
    duration_us: Duration,
    *,
    scene: str | None = None,
    part: bool = False,
    cut: Cut | None = None,
) -> WantedScenes:
    """Return what the scenes will say that these listings are about.

    Args:
        production: the production as it is.
        listings: what was read.
        index: the recordings.
        duration_us: gives a recording's length in microseconds; None if it cannot be read.
        scene: the scene of rows that name none.
        part: whether shots and lines that the listings do not name stay, in the scenes that they name.
        cut: finds lines by listening, in a recording that several lines share; None to look for none.
    """
    joining = Joining(production, Names(production, scene), index)
    for listing in listings:
        joining.problems += listing.problems
        joining.messages += listing.messages
        if listing.kind == "list":
            _take_list(joining, listing)
    for listing in listings:
        if listing.kind == "names":
            _take_names(joining, listing)
    give_ids(joining)
    for listing in listings:
        if listing.kind == "edit":
            place_edit(joining, listing)
    fill_speeches(joining, [listing for listing in listings if listing.kind in ("script", "subtitles")])
    if part:
        joining.whole_lines.clear()
        joining.whole_shots.clear()
    if cut is not None and not joining.problems:
        _cut_sessions(joining, cut)
    return _wanted(joining, duration_us)


def _cut_sessions(joining: Joining, cut: Cut) -> None:
    """Listen for lines that share a recording, where nothing says which part of it each line is."""
    sharing: dict[str, list[Draft]] = defaultdict(list)
    users: Counter[str] = Counter()
    for draft in joining.drafts:
        if draft.edit is None and draft.row.in_point is None and draft.row.out_point is None:
            found = joining.index.found(draft.said_recording) if draft.said_recording else ()
            line = draft.present[1] if draft.present else None
            if len(found) == 1:
                users[found[0]] += 1
                if line is None or line.recording != found[0]:  # else the scene's file says which part it is
                    sharing[found[0]].append(draft)
    for recording, drafts in sharing.items():
        lines = [said for draft in drafts if (said := _said(joining, draft)) is not None]
        if users[recording] < 2 or len(lines) < len(drafts):
            continue  # resolving.py tells what is missing or wrong
        points, messages = cut(recording, lines)
        joining.messages += messages
        for draft in drafts:
            draft.points_us = points.get(draft.line_id)
            if draft.points_us is None:
                joining.drafts.remove(draft)
                _keep(joining, draft)
                text = f"was not heard in {recording}; say which part of it the line is, by in and out"
                joining.unplaced.append(draft.row.fault(f"line {draft.line_id}", text))


def _keep(joining: Joining, draft: Draft) -> None:
    """Let a line that was not found stay as it is, if the production has it."""
    if draft.present is not None:
        joining.kept.append(draft)


def _said(joining: Joining, draft: Draft) -> SaidLine | None:
    """Return the line to listen for; None if its words or its character are not known."""
    line = draft.present[1] if draft.present else None
    text = draft.row.text or draft.text or (line.text if line else None)
    called = draft.row.character or draft.character or (line.character if line else None)
    if text is None or called is None:
        return None
    try:
        return SaidLine(draft.line_id, text, joining.names.character(called))
    except ValueError:
        return None


def _take_list(joining: Joining, listing: Listing) -> None:
    for row in listing.rows:
        if (place := _place(joining, row)) is None:
            continue
        scene, shot = place
        _take_shot_facts(joining, joining.shot(scene, shot), row)
        if row.says_a_line:
            joining.whole_lines.add(scene)
            joining.drafts.append(Draft(row, scene, shot, row.line))


def _take_names(joining: Joining, listing: Listing) -> None:
    """Take recordings that are named for their lines; a line that is listed already gets its recording only."""
    ids: dict[tuple[str, str, str], Draft] = {
        (draft.scene, draft.shot, (draft.id or "").casefold()): draft for draft in joining.drafts
    }
    for row in listing.rows:
        if (place := _place(joining, row)) is None:
            continue
        known = ids.get((*place, (row.line or "").casefold()))
        if known is not None:
            known.recording = known.recording or row.recording
            continue
        joining.shot(*place)
        joining.drafts.append(Draft(row, *place, row.line))


def _place(joining: Joining, row: Listed) -> tuple[str, str] | None:
    """Return the ids of a row's scene and shot; None, and a problem, if they cannot be told."""
    try:
        if row.shot is None and row.line is not None and (found := _standing_in(joining, row)):
            return found
        scene = joining.names.scene(row.scene, row.shot)
        if row.shot is None:
            joining.problems.append(row.fault("shot", "names no shot; write in which shot the line is"))
            return None
        return scene, joining.names.shot(scene, row.shot)
    except ValueError as error:
        joining.problems.append(row.fault("scene", str(error)))
        return None


def _standing_in(joining: Joining, row: Listed) -> tuple[str, str] | None:
    """Return the scene and shot of the line that has a row's id, if there is exactly one."""
    scenes = [joining.names.scene(row.scene)] if row.scene else list(joining.names.scenes)
    wanted = (row.line or "").casefold()
    found = {
        (scene, shot.id)
        for scene in scenes
        for shot, line in joining.names.present(scene)
        if line.id.casefold() == wanted
    }
    return found.pop() if len(found) == 1 else None


def _take_shot_facts(joining: Joining, shot: ShotDraft, row: Listed) -> None:
    for name in ("frames", "start"):
        value, known = getattr(row, name), getattr(shot, f"listed_{name}")
        if value is None:
            continue
        if known is not None and known != value:
            text = f"found {value!r}, but {shot.said_at} says {known!r} of the same shot; make them one"
            joining.problems.append(row.fault(name, text))
            continue
        if name == "start" and (fault := _no_timecode(joining, value)):
            joining.problems.append(row.fault(name, fault))
            continue
        setattr(shot, f"listed_{name}", value)
        shot.said_at = shot.said_at or row.place


def _no_timecode(joining: Joining, text: str) -> str:
    """Return why a text is no timecode of the production; empty if it is one."""
    try:
        timing.parse_timecode(text, joining.production.rate)
    except ValueError as error:
        return str(error)
    return ""


def _wanted(joining: Joining, duration_us: Duration) -> WantedScenes:
    lines: dict[tuple[str, str], list[WantedLine]] = defaultdict(list)
    listed: set[tuple[str, str]] = set()
    for draft in joining.drafts:
        listed.add((draft.scene, draft.line_id.casefold()))
        found = resolved(joining, draft, duration_us)
        if found is not None:
            lines[draft.scene, draft.shot].append(found)
        elif draft.present is not None:  # a line that cannot be placed stays where it is
            shot, line = draft.present
            lines[draft.scene, shot.id].append(as_it_is(joining.production, line, shot))
    for draft in joining.kept:
        assert draft.present is not None
        listed.add((draft.scene, draft.line_id.casefold()))
        lines[draft.scene, draft.present[0].id].append(
            as_it_is(joining.production, draft.present[1], draft.present[0])
        )
    scenes = dict.fromkeys([scene for scene, _ in joining.shots])
    made = tuple(_scene(joining, scene, lines, listed) for scene in scenes)
    return WantedScenes(
        tuple(scene for scene in made if scene.shots or scene.id in joining.names.scenes),
        tuple(dict.fromkeys(joining.problems)),
        tuple(joining.unplaced),
        tuple(dict.fromkeys(joining.messages)),
    )


def _scene(
    joining: Joining,
    scene: str,
    lines: dict[tuple[str, str], list[WantedLine]],
    listed: set[tuple[str, str]],
) -> WantedScene:
    there = joining.names.scenes.get(scene)
    present = {shot.id: shot for shot in there.shots} if there else {}
    order = [*present, *(shot for at, shot in joining.shots if at == scene and shot not in present)]
    shots = []
    for id in order:
        draft = joining.shots.get((scene, id))
        own = lines.get((scene, id), [])
        if id in present and scene not in joining.whole_lines:
            kept = (line for line in present[id].line if (scene, line.id.casefold()) not in listed)
            own = [*(as_it_is(joining.production, line, present[id]) for line in kept), *own]
        if id in present and scene in joining.whole_shots and (draft is None or not draft.in_edit) and not own:
            continue
        if draft is None:
            draft = joining.shot(scene, id)
        if (made := _shot(joining, draft, own)) is not None:
            shots.append(made)
    return WantedScene(scene, joining.names.titles[scene], tuple(shots))


def _shot(joining: Joining, draft: ShotDraft, lines: list[WantedLine]) -> WantedShot | None:
    if draft.frames is None:
        text = "has no length; add a column frames to the list, or give the edit with its picture"
        joining.unplaced.append(Problem(f"scene {draft.scene}", f"shot {draft.id}", text))
        return None
    return WantedShot(draft.id, draft.frames, draft.start, tuple(lines))
