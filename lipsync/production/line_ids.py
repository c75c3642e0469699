"""Which line of the production a row is about: by its id, or without one by its recording and its words.

In: the drafts of a `Joining`. Out: the same drafts, each with its id and, if the production has the line, with that
line. A new line without an id gets one: its shot's with a letter (`010-c`). It is one that no line of the scene has
or had, since corrections are kept under the id.
"""

from __future__ import annotations

import re
from collections import defaultdict
from collections.abc import Iterator
from difflib import SequenceMatcher
from itertools import count

from lipsync.production.drafts import Draft, Joining
from lipsync.production.letters import letter_of, letters_of, stem_of
from lipsync.production.production_tables import Line, Shot
from lipsync.tomlfile import shown

# How alike two texts must be to be one line reworded (chosen: half the letters in the same order).
_ALIKE = 0.5


def give_ids(joining: Joining) -> None:
    """Find for each draft its line in the production, and give ids to drafts that have none."""
    pattern = joining.production.file.taking.lines
    of_scene: dict[str, list[Draft]] = defaultdict(list)
    for draft in joining.drafts:
        of_scene[draft.scene].append(draft)
    for scene, drafts in of_scene.items():
        present = joining.names.present(scene)
        by_id = {line.id.casefold(): (shot, line) for shot, line in present}
        for draft in drafts:
            if draft.id is not None:
                _find_by_id(draft, pattern, by_id)
        _note_shared_ids(joining, drafts)
        taken = {draft.line_id.casefold() for draft in drafts}
        free = [(shot, line) for shot, line in present if line.id.casefold() not in taken]
        without = [draft for draft in drafts if draft.id is None]
        for draft, (shot, line) in _matched(without, free):
            draft.id, draft.present = line.id, (shot, line)
        used = {line.id.casefold() for _, line in present} | taken | _kept_ids(joining, scene)
        for draft in without:
            if draft.id is None:
                draft.id = _new_id(draft.shot, used)
                used.add(draft.id.casefold())


def _find_by_id(draft: Draft, pattern: str, by_id: dict[str, tuple[Shot, Line]]) -> None:
    """Make a draft's id of what the list says, and find the production's line that has it."""
    said = draft.id or ""
    made = pattern.replace("{scene}", draft.scene).replace("{shot}", draft.shot).replace("{line}", said)
    made = re.sub(r"\s+", "-", made)
    there = by_id.get(made.casefold())
    if there is None and made.isdecimal():  # a spreadsheet drops leading zeros
        same = [one for id, one in by_id.items() if id.isdecimal() and int(id) == int(made)]
        there = same[0] if len(same) == 1 else None
    draft.present = there
    draft.id = there[1].id if there else made


def _note_shared_ids(joining: Joining, drafts: list[Draft]) -> None:
    first: dict[str, Draft] = {}
    for draft in drafts:
        if draft.id is None:
            continue
        other = first.setdefault(draft.id.casefold(), draft)
        if other is not draft:
            text = f"{shown(draft.id)} is the id of {other.row.place} as well; give each line its own"
            joining.problems.append(draft.row.fault("line", text))


def _matched(drafts: list[Draft], free: list[tuple[Shot, Line]]) -> Iterator[tuple[Draft, tuple[Shot, Line]]]:
    """Yield drafts without ids, each with its line: matched by the surest test first, each line once."""
    left = dict(enumerate(free))
    waiting = list(drafts)
    for sure in (_same, _same_words, _same_recording, _reworded):
        for draft in list(waiting):
            found = [at for at, (shot, line) in left.items() if sure(draft, shot, line)]
            best = max(
                found, key=lambda at: (left[at][0].id == draft.shot, _likeness(draft, left[at][1]), -at), default=None
            )
            if best is not None:
                yield draft, left.pop(best)
                waiting.remove(draft)


def _same(draft: Draft, shot: Shot, line: Line) -> bool:
    return shot.id == draft.shot and _same_words(draft, shot, line)


def _same_words(draft: Draft, _: Shot, line: Line) -> bool:
    return draft.row.text is not None and letters_of(draft.row.text) == letters_of(line.text)


def _same_recording(draft: Draft, _: Shot, line: Line) -> bool:
    called = draft.row.recording
    if called is None or draft.row.in_point is not None:
        return False
    return stem_of(called).casefold() == stem_of(line.recording).casefold()


def _reworded(draft: Draft, shot: Shot, line: Line) -> bool:
    return shot.id == draft.shot and _likeness(draft, line) >= _ALIKE


def _likeness(draft: Draft, line: Line) -> float:
    return SequenceMatcher(None, letters_of(draft.row.text or ""), letters_of(line.text), autojunk=False).ratio()


def _kept_ids(joining: Joining, scene: str) -> set[str]:
    """Return the ids under which breakdowns are kept, also of lines that are gone."""
    return {path.stem.casefold() for path in (joining.production.folder / "breakdowns" / scene).glob("*.toml")}


def _new_id(shot: str, used: set[str]) -> str:
    """Return the first free id of a shot: 010-a to 010-z, then 010-aa and on."""
    ids = (f"{shot}-{letter_of(index).lower()}" for index in count())
    return next(id for id in ids if id.casefold() not in used)
