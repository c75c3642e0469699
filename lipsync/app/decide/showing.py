"""What was tried on a scene, beside the present way, written: a page to pin up and a table of frames.

In: a production and what was tried on one of its scenes. Out: files in the production's `sheets/`, or in another
folder, whole or not at all.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator
from pathlib import Path

from lipsync.app.decide.trying import Tried
from lipsync.files import AnyPath, write_together
from lipsync.paper.csv_table import csv_table
from lipsync.paper.pdf import draw
from lipsync.paper.piece_pictures import art_of
from lipsync.paper.side_by_side_page import side_by_side_page
from lipsync.paper.side_by_side_parts import Instead, SideJob, Strip
from lipsync.production.values import Production


def write_tried(production: Production, tried: Tried, out: AnyPath | None = None) -> tuple[Path, ...]:
    """Write the two ways as a page, and the frames that differ as CSV, and return the files' paths.

    Raises:
        InputError: if a picture is missing.
        OutputError: if a file cannot be written.
    """
    rows = ((one.shot, one.character, one.number, one.present, one.tried) for one in tried.differences)
    folder = production.folder_for("sheets", out)
    name = f"side-by-side-{tried.trial.name}"
    contents = {
        folder / f"{name}.pdf": draw(side_by_side_page(_page_of(production, tried))),
        folder / f"{name}.csv": csv_table(
            [("shot", "character", "frame", "present", "tried"), *rows], for_spreadsheets=True
        ),
    }
    write_together(contents)
    return tuple(contents)


def _page_of(production: Production, tried: Tried) -> SideJob:
    file, words = production.file, production.file.sheet.words
    names = {key: character.name for key, character in file.characters.items()}
    what = [
        words.tried_set.format(character=names[who], mouth_set=mouth_set.name)
        for who, mouth_set in tried.mouth_sets.items()
        if who in tried.trial.mouth_sets
    ]
    if tried.trial.fitting is not None:
        what.append(words.tried_settings.format(file=tried.trial.fitting.name))
    return SideJob(
        file.title,
        tried.scene.title,
        tuple(what),
        tried.both,
        names,
        tuple(_strips(production, tried)),
        tuple(_instead(production, tried)),
        tried.scene.dated or file.dated,
        file.sheet.page,
        words,
        tried.alerts,
    )


def _strips(production: Production, tried: Tried) -> Iterator[Strip]:
    for shot, one, differing in zip(tried.shots, tried.both.one.tracks, tried.both.differing, strict=True):
        differs = tuple(None if code is None else frame in differing for frame, code in enumerate(one.pieces))
        yield Strip(shot, one.character, production.file.first_frame, differs)


def _instead(production: Production, tried: Tried) -> Iterator[Instead]:
    """Yield which piece replaces which, and on how many frames; pieces that are only on film are left out."""
    counted = Counter((one.character, one.present, one.tried) for one in tried.differences)
    characters = {who for who, _, _ in counted}
    sets = {who: (production.mouth_sets[who], tried.mouth_sets[who]) for who in characters}
    folder = production.folder / "mouthsets"
    art = {who: tuple(art_of(mouth_set, folder) for mouth_set in both) for who, both in sets.items()}
    for (who, code, other), frames in counted.most_common():
        present, instead = (
            mouth_set.by_code.get(one) for mouth_set, one in zip(sets[who], (code, other), strict=True)
        )
        if present is not None and instead is not None:
            yield Instead(who, present, instead, frames, *art[who])
