"""An edit's clips found among shots and lines: pictures and markers are shots, sounds are lines.

In: the drafts of a `Joining`, and an edit's events. Out: the same drafts, with lengths and starts of shots, and for
each line its event. Where no list is taken with the edit, the lines are those that the production has.
"""

from __future__ import annotations

import re
from collections import defaultdict
from collections.abc import Iterator, Sequence

from lipsync import timing
from lipsync.message import Message, Where
from lipsync.production.drafts import Draft, Joining
from lipsync.production.letters import stem_of
from lipsync.production.listed import EditEvent, Listed, Listing
from lipsync.production.production_tables import Line, Shot
from lipsync.production.taking_settings import said_in

# Scene and shot -> first frame in the edit and the frame after its last.
Shots = dict[tuple[str, str], tuple[int, int]]

_MOST_NAMED = 6  # lines that a fault names (chosen)


def place_edit(joining: Joining, listing: Listing) -> None:
    """Take an edit: its pictures, or else its markers, are shots, and its sounds are lines."""
    pictures = [event for event in listing.events if event.kind == "picture"]
    if not pictures:
        pictures = _between_markers(listing.events)
    placed = _shots(joining, pictures, drop=listing.drop)
    sounds = _once([event for event in listing.events if event.kind == "sound"])
    if sounds:
        _lines(joining, sounds, placed)


def _between_markers(events: Sequence[EditEvent]) -> list[EditEvent]:
    """Return markers as pictures: each lasts to the next marker, the last one to the end of the edit."""
    markers = sorted((event for event in events if event.kind == "marker"), key=lambda event: event.record)
    if not markers:
        return []
    end = max(event.record[1] for event in events)
    ends = [*(event.record[0] for event in markers[1:]), end]
    return [
        EditEvent(event.file, event.place, "picture", event.names, (event.record[0], last))
        for event, last in zip(markers, ends, strict=True)
        if last > event.record[0]
    ]


def _shots(joining: Joining, pictures: Sequence[EditEvent], *, drop: bool) -> Shots:
    """Set lengths and starts of the shots that an edit shows, and return where in the edit each shot lies."""
    rate = joining.production.rate
    found: dict[tuple[str, str], list[EditEvent]] = defaultdict(list)
    for event in pictures:
        if (place := _shot_of(joining, event)) is not None:
            found[place].append(event)
    placed: Shots = {}
    for (scene, id), events in found.items():
        first, end = events[0].record
        for event in events[1:]:
            if event.record[0] != end:
                also = ", ".join(one.place for one in events)
                text = (
                    f"shows shot {id} of scene {scene}, which is cut apart ({also}); give each part a shot of its own"
                )
                joining.problems.append(event.fault("", text))
                break
            end = event.record[1]
        shot = joining.shot(scene, id)
        shot.edit_frames, shot.edit_start, shot.in_edit = end - first, timing.timecode(first, rate, drop=drop), True
        if shot.present and timing.parse_timecode(shot.present.start, rate)[0] == first:
            shot.edit_start = shot.present.start
        placed[scene, id] = (first, end)
        joining.whole_shots.add(scene)
    return placed


def _shot_of(joining: Joining, event: EditEvent) -> tuple[str, str] | None:
    """Return the scene and shot that a picture is named for; None, and a message, if it is named for none."""
    names = joining.names
    for name in event.names:
        for called in dict.fromkeys((name, stem_of(name))):
            scene, slash, shot = called.rpartition("/")
            if slash and "/" not in scene:
                try:
                    return (at := names.scene(scene, new=False)), names.shot(at, shot)
                except ValueError:
                    pass
            said = said_in(joining.production.file.taking.shots, called)
            if said and "shot" in said:
                try:
                    at = names.scene(said.get("scene"), said["shot"])
                    return at, names.shot(at, said["shot"])
                except ValueError:
                    pass
            try:
                at = names.scene(None, called)
            except ValueError:
                continue
            if names.has_shot(at, called) or (at, called) in joining.shots:
                return at, names.shot(at, called)
    facts = {"picture": event.names[0] if event.names else "", "pattern": joining.production.file.taking.shots}
    joining.messages.append(Message.of("picture of no shot", Where(event.file, event.place), **facts))
    return None


def _once(events: Sequence[EditEvent]) -> list[EditEvent]:
    """Return each sound once, also where several tracks have it (stereo)."""
    return list({(event.names, event.record, event.source): event for event in reversed(events)}.values())[::-1]


def _lines(joining: Joining, sounds: Sequence[EditEvent], placed: Shots) -> None:
    """Give each sound to its line; in scenes that no list names, lines without a sound are then gone."""
    listed = {draft.scene for draft in joining.drafts}
    touched = dict.fromkeys(scene for scene, _ in placed)
    present = [
        Draft(Listed(str(joining.production.folder), line.id), scene, shot.id, line.id, (shot, line))
        for scene in joining.names.scenes
        if scene not in listed
        for shot, line in joining.names.present(scene)
    ]
    finder = _Finder(joining, [*joining.drafts, *present])
    used: dict[int, EditEvent] = {}
    for event in sounds:
        draft = finder.line(event)
        if draft is None:
            continue
        if id(draft) in used:
            text = (
                f"line {draft.line_id} of scene {draft.scene} is cut apart, into {used[id(draft)].place} and this; "
                "make lines of it, each with its part of the text"
            )
            joining.problems.append(event.fault("", text))
            continue
        used[id(draft)] = event
        draft.edit = event
        touched.setdefault(draft.scene)
        if draft.scene not in listed:
            _into_its_shot(draft, event, placed)
    for scene in touched:
        if scene in listed:
            continue
        joining.whole_lines.add(scene)
        for draft in present:
            if draft.scene == scene and draft.edit is not None:
                joining.shot(scene, draft.shot)
                joining.drafts.append(draft)
    if not listed:
        joining.drafts.sort(key=lambda draft: draft.edit.record[0] if draft.edit else -1)


def _into_its_shot(draft: Draft, event: EditEvent, placed: Shots) -> None:
    """Move a line to the shot in which its sound begins, unless some of the sound lies in its own shot."""
    first, end = event.record
    own = placed.get((draft.scene, draft.shot))
    if own is not None and first < own[1] and end > own[0]:
        return
    for (scene, shot), (begins, ends) in placed.items():
        if scene == draft.scene and begins <= first < ends:
            draft.shot = shot
            return


class _Finder:
    """Finds the line of a sound: by its recording, by the line's id, or by the pattern of recordings' names."""

    def __init__(self, joining: Joining, drafts: Sequence[Draft]) -> None:
        self._joining = joining
        self._by_stem: dict[str, list[Draft]] = defaultdict(list)
        self._by_id: dict[str, list[Draft]] = defaultdict(list)
        for draft in drafts:
            if draft.said_recording:
                self._by_stem[stem_of(draft.said_recording).casefold()].append(draft)
            self._by_id[draft.line_id.casefold()].append(draft)

    def line(self, event: EditEvent) -> Draft | None:
        """Return an event's line; None, and the reason in the joining, if there is none or it may be several."""
        for found in self._candidates(event):
            if len(found) == 1:
                return found[0]
            best = self._best(event, found)
            if best is not None:
                return best
            lines = ", ".join(draft.line_id for draft in found[:_MOST_NAMED])
            text = f"may be any of the lines {lines}; say of each which part of the recording it is, by in and out"
            self._joining.problems.append(event.fault("", text))
            return None
        called = ", ".join(event.names) or "without a name"
        self._joining.unplaced.append(
            event.fault("", f"{called}: no line has this recording; add it to the list, with what is said")
        )
        return None

    def _candidates(self, event: EditEvent) -> Iterator[list[Draft]]:
        """Yield groups of lines that an event may be, found in several ways, the surest way first."""
        stems = [stem_of(name).casefold() for name in event.names]
        yield from (self._by_stem[stem] for stem in stems if stem in self._by_stem)
        yield from (self._by_id[stem] for stem in stems if stem in self._by_id)
        for stem in stems:
            said = said_in(self._joining.production.file.taking.recordings, stem)
            if said and "line" in said:
                found = [
                    draft
                    for draft in self._by_id.get(said["line"], ())
                    if said.get("scene", draft.scene).casefold() == draft.scene.casefold()
                ]
                if found:
                    yield found
            # Another take has a longer name: 010-a_t2, 010-a take 3.
            heads = [stem[: match.start()] for match in re.finditer(r"[^a-z0-9]", stem)]
            for head in reversed(heads):
                for known in (self._by_id, self._by_stem):
                    if head in known:
                        yield known[head]

    def _best(self, event: EditEvent, drafts: Sequence[Draft]) -> Draft | None:
        """Return the line whose part of the recording overlaps the event most; None if that is not clear."""
        rate = self._joining.production.rate
        shared = sorted(((self._shared_us(event, draft), at) for at, draft in enumerate(drafts)), reverse=True)
        if shared[0][0] >= timing.frame_start_us(1, rate) and shared[0][0] > shared[1][0]:
            return drafts[shared[0][1]]
        return None

    def _shared_us(self, event: EditEvent, draft: Draft) -> int:
        """Return the overlap of an event and a line's part of the recording, in microseconds; below 0 if apart."""
        there: tuple[Shot, Line] | None = draft.present
        if event.source is None:
            return 0
        rate = self._joining.production.rate
        facts = None
        if draft.said_recording and len(found := self._joining.index.found(draft.said_recording)) == 1:
            facts = self._joining.index.facts(found[0])
        stamp = (facts.stamp_frame(rate) or 0) if facts else 0
        first, end = event.source
        if stamp and first >= stamp:
            first, end = first - stamp, end - stamp
        points = [draft.row.in_point, draft.row.out_point]
        own = [timing.us_of_seconds(point) if isinstance(point, float) else None for point in points]
        if there is not None:
            own = [
                own[0] if own[0] is not None else there[1].in_us,
                own[1] if own[1] is not None else there[1].out_us,
            ]
        begins = own[0] or 0
        ends = own[1] if own[1] is not None else timing.frame_start_us(end, rate)
        return min(ends, timing.frame_start_us(end, rate)) - max(begins, timing.frame_start_us(first, rate))
