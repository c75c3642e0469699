"""The revision of a sheet that is printed: its letter, the rows that changed, and the page that tells of them.

In: a shot's plan and its `SheetJob`. Out: `Revised`, whose document is the sheet with the margin marked and, from the
second revision on, a last page that says in words what changed since the one before.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from itertools import groupby
from pathlib import Path

from lipsync.floor import prints
from lipsync.floor.change_words import place_of, text_of
from lipsync.floor.changes import Change
from lipsync.floor.comparing import changed_rows, changes
from lipsync.floor.listing import Entry, listing
from lipsync.floor.prints import Prints, Revision
from lipsync.floor.state import state_of
from lipsync.folders import is_there
from lipsync.paper.exposure import sheet
from lipsync.paper.marks import Bookmark, Document, Page
from lipsync.paper.sheet_job import SheetJob
from lipsync.production.values import Production


@dataclass(frozen=True, slots=True)
class Revised:
    """A sheet with its revision.

    Attributes:
        job: the sheet, with letter and changed rows.
        revision: what it says.
        before: the revision before it, if there is one.
        known: the shot's prints, this one among them.
        path: where they are recorded.
        is_new: whether this state is not recorded yet.
    """

    job: SheetJob
    revision: Revision
    before: Revision | None
    known: Prints
    path: Path
    is_new: bool

    def keep(self) -> None:
        """Record the revision; do it before the page leaves the program.

        Raises:
            OutputError: if the record cannot be written.
        """
        if self.is_new:
            prints.write(self.path, self.known)

    def is_newest(self) -> bool:
        """Return whether nobody has recorded a later revision since.

        Raises:
            InputError: if the record is broken.
        """
        newest = prints.read(self.path).newest
        return newest is not None and newest.letter == self.revision.letter

    def document(self) -> Document:
        """Return the sheet, and what changed.

        Raises:
            InputError: if the page is too small for it.
        """
        made = sheet(self.job)
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
    places: Mapping[str, Path] | None = None,
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
    places = prints.prints_in(production.folder) if places is None else places
    # Another program may have printed the shot for the first time since the places were looked up.
    path = places.get(job.shot) or prints.own_place(production.folder, scene, job.shot)
    old = prints.read(path) if is_there(path) else Prints(job.shot)
    known = old.with_state(state_of(characters, job))
    newest = known.newest
    assert newest is not None  # a state was put there the line before
    before = known.before(newest.letter)
    changed = changed_rows(before.state, newest.state) if before else frozenset()
    return Revised(
        replace(job, revision=newest.letter, changed=changed, before=before.letter if before else ""),
        newest,
        before,
        known,
        path,
        known is not old,
    )


def changes_title(job: SheetJob, before: Revision, after: Revision) -> str:
    """Return the title of the page that tells what changed."""
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
