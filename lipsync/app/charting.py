"""The mouth chart of each character, to hang beside the puppet.

In: a production. Out: files in the production's `sheets/`, or in another folder, whole or not at all.
"""

from __future__ import annotations

from pathlib import Path

from lipsync.errors import InputError
from lipsync.files import AnyPath, write_together
from lipsync.message import Where
from lipsync.paper.chart_page import chart
from lipsync.paper.chart_tiles import ChartJob
from lipsync.paper.pdf import draw
from lipsync.paper.piece_pictures import art_of
from lipsync.production.values import Production

# Points kept along a picture's longer side: on a chart it is up to 60 mm wide, 200 to the inch (chosen).
_CHART_POINTS = 480


def characters_of(production: Production, only: str | None) -> tuple[str, ...]:
    """Return the ids of the characters meant: the one named, or all.

    Raises:
        InputError: if there is no such character.
    """
    known = tuple(production.file.characters)
    if only is not None and only not in known:
        where = Where(str(production.folder / "production.toml"), "[characters]")
        raise InputError.of("no such character", where, character=only, known=", ".join(known))
    return known if only is None else (only,)


def write_charts(
    production: Production, only: str | None = None, page: str | None = None, out: AnyPath | None = None
) -> tuple[Path, ...]:
    """Write the mouth chart of a character, or of each, and return the files' paths.

    Args:
        production: the production.
        only: the character's id; all if None.
        page: the size of paper; that of the production's sheets if None.
        out: where to write; the production's `sheets/` if None.

    Raises:
        InputError: if there is no such character, its pieces are too many for the page, or a picture is missing.
        OutputError: if a file cannot be written.
    """
    folder = production.folder_for("sheets", out)
    written: dict[Path, bytes] = {}
    for key in characters_of(production, only):
        mouth_set = production.mouth_sets[key]
        job = ChartJob(
            production.file.title,
            production.file.characters[key].name,
            mouth_set,
            page or production.file.sheet.page,
            art_of(mouth_set, production.folder / "mouthsets", _CHART_POINTS),
            production.file.dated,
            production.file.sheet.words,
        )
        written[folder / f"chart-{key}.pdf"] = draw(chart(job))
    if written:
        write_together(written)
    return tuple(written)
