"""The revision of a sheet that is printed: its letter, the rows that changed, and the page that lists the changes.

In: a shot's `SheetJob` and its prints. Out: `Revised`, whose document is the sheet with changed rows marked in the
margin and, from the second revision on, a last page that tells in words what changed since the revision before.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from itertools import groupby
from pathlib import Path

from lipsync.floor import prints
from lipsync.floor.change_words import place_of, text_of
from lipsync.floor.changes import Change
from lipsync.floor.comparing import changed_rows, changes
from lipsync.floor.listing import Entry, listing
from lipsync.floor.prints import Prints, Revision
from lipsync.floor.shot_files import ShotFiles
from lipsync.floor.state import SheetState, state_of
from lipsync.folders import is_there
from lipsync.paper.exposure import changed_pages, sheet
from lipsync.paper.marks import Bookmark, Document, Page
from lipsync.paper.rows import Stamped
from lipsync.paper.sheet_job import SheetJob
from lipsync.production.values import Production


@dataclass(frozen=True, slots=True)
class Revised:
    """A sheet with its revision.

    Attributes:
        job: the sheet, with its letter and its changed rows.
        revision: the letter and the state that is recorded under it.
        before: the revision before it; None for the first.
        known: the shot's prints, with this one.
        path: the file of the prints.
        is_new: whether this state is not in that file yet.
        state: what the sheet says now; apart from frames filmed meanwhile the same as `revision.state`.
    """

    job: SheetJob
    revision: Revision
    before: Revision | None
    known: Prints
    path: Path
    is_new: bool
    state: SheetState

    def anew(self) -> Revised:
        """Return the same sheet, its revision found again: another program may have printed the shot meanwhile.

        Raises:
            InputError: if the record of its prints is broken.
        """
        return _revised(self.job, self.state, self.path)

    def keep(self) -> None:
        """Record the revision. Call this before the page is written.

        Raises:
            OutputError: if the record cannot be written.
        """
        if self.is_new:
            prints.write(self.path, self.known)

    def is_newest(self) -> bool:
        """Return whether this is still the newest recorded revision.

        Raises:
            InputError: if the record is broken.
        """
        newest = prints.read(self.path).newest
        return newest is not None and newest.letter == self.revision.letter

    def document(self) -> Document:
        """Return the sheet, with the pages that tell what changed.

        Raises:
            InputError: if the page is too small for it.
        """
        return self._with_changes(sheet(self.job, self._stamped))

    def changed_document(self) -> Document | None:
        """Return only the pages that differ from the revision before, with what changed; None if no page differs.

        The printed pages that do not differ are still good, with all that was written on them by hand.

        Raises:
            InputError: as `document` does.
        """
        made = changed_pages(self.job, self._stamped)
        return None if made is None else self._with_changes(made)

    @property
    def _stamped(self) -> Stamped:
        return Stamped(self.state.rows, self.state.stamp)

    def _with_changes(self, made: Document) -> Document:
        if self.before is None:
            return made
        title = changes_title(self.job, self.before, self.revision)
        found = changes(self.before.state, self.revision.state)
        pages = change_pages(self.job, self.revision.state.stamp, title, found)
        bookmarks = (*made.bookmarks, Bookmark(title, len(made.pages)))
        return Document(made.title, (*made.pages, *pages), bookmarks if pages else made.bookmarks)


def revise(
    production: Production,
    scene: str,
    characters: Sequence[str],
    job: SheetJob,
    places: ShotFiles | None = None,
) -> Revised:
    """Return a sheet with its revision.

    Args:
        production: the production.
        scene: id of the shot's scene.
        characters: ids of the characters on the sheet, in order.
        job: the sheet, without revision.
        places: where each shot's prints are recorded (`prints_in`); looked up if None.

    Raises:
        InputError: if the record of its prints is broken.
    """
    places = prints.prints_in(production) if places is None else places
    # The file may have been written since `places` was made, so `_revised` looks for it again.
    path = places.of_shots.get((scene, job.shot)) or prints.own_place(production.folder, scene, job.shot)
    return _revised(job, state_of(characters, job), path)


def _revised(job: SheetJob, state: SheetState, path: Path) -> Revised:
    old = prints.read(path) if is_there(path) else Prints(job.shot)
    known = old.with_state(state)
    newest = known.newest
    assert newest is not None  # `with_state` leaves at least one revision
    before = known.before(newest.letter)
    return Revised(_compared(job, newest, before), newest, before, known, path, known is not old, state)


def _compared(job: SheetJob, newest: Revision, before: Revision | None) -> SheetJob:
    """Return a sheet with what differs from the revision before: its rows, and whether its heading does."""
    job = replace(job, revision=newest.letter)
    if before is None:
        return replace(job, changed=frozenset(), before="", rows_before=0, heading_changed=False)
    was, now = before.state, newest.state
    heading = (was.facts, was.characters, was.names, was.alerts) != (now.facts, now.characters, now.names, now.alerts)
    return replace(
        job,
        changed=changed_rows(was, now),
        before=before.letter,
        rows_before=len(was.rows),
        heading_changed=heading,
    )


def changes_title(job: SheetJob, before: Revision, after: Revision) -> str:
    """Return the title of the pages that tell what changed."""
    return job.settings.words.changes.format(before=before.letter, after=after.letter)


def change_pages(job: SheetJob, stamp: str, title: str, found: Sequence[Change]) -> tuple[Page, ...]:
    """Return the pages that tell what changed; none if nothing did."""
    words, base = job.settings.words, job.first_frame
    told = [(place_of(one, words, base), one.character, text_of(one, words, base)) for one in found]
    # One line for each place: all that changed there.
    entries = [
        Entry(place, who, "; ".join(text for _, _, text in same))
        for (place, who), same in groupby(told, lambda one: one[:2])
    ]
    if not entries:
        return ()
    return listing(job, stamp, title, entries, lambda page, pages: words.changes_page.format(page=page, pages=pages))
