"""What scripts and subtitles say, given to the lines that a list or an edit names without their words.

Speeches and lines are both in order. They are put together only where each has its partner: as many speeches as there
are lines without words, in all or of each scene. Anything else is told, and nothing is guessed.
"""

from __future__ import annotations

from collections.abc import Sequence

from lipsync.message import Message
from lipsync.production.drafts import Draft, Joining
from lipsync.production.listed import Listed, Listing


def fill_speeches(joining: Joining, listings: Sequence[Listing]) -> None:
    """Give words, and who says them, to lines that have none."""
    for listing in listings:
        wordless = [draft for draft in joining.drafts if not _has_words(draft)]
        speeches = _unsaid(joining, listing)
        if not wordless:
            if speeches:
                _tell(joining, listing, len(speeches), 0)
            continue
        scenes = dict.fromkeys(speech.scene for speech in speeches)
        if None not in scenes and len(scenes) > 1:
            for called in scenes:
                _fill_scene(joining, listing, str(called), wordless, speeches)
        else:
            _fill(joining, listing, wordless, speeches)


def _has_words(draft: Draft) -> bool:
    return bool(draft.row.text or draft.text or (draft.present and draft.present[1].text))


def _unsaid(joining: Joining, listing: Listing) -> list[Listed]:
    """Return the speeches that no line has word for word."""
    said = {_plain(draft.row.text or (draft.present[1].text if draft.present else "")) for draft in joining.drafts}
    for scene in joining.names.scenes:
        said |= {_plain(line.text) for _, line in joining.names.present(scene)}
    return [row for row in listing.rows if _plain(row.text or "") not in said]


def _fill_scene(
    joining: Joining, listing: Listing, called: str, wordless: Sequence[Draft], speeches: Sequence[Listed]
) -> None:
    own = [speech for speech in speeches if speech.scene == called]
    try:
        scene = joining.names.scene(called, new=False)
    except ValueError:
        what = f"scene {called!r} is none of the production; its speeches are passed over"
        joining.messages.append(Message(listing.file, "", what))
        return
    _fill(joining, listing, [draft for draft in wordless if draft.scene == scene], own)


def _fill(joining: Joining, listing: Listing, wordless: Sequence[Draft], speeches: Sequence[Listed]) -> None:
    if len(wordless) != len(speeches):
        _tell(joining, listing, len(speeches), len(wordless))
        return
    for draft, speech in zip(wordless, speeches, strict=True):
        draft.text = speech.text
        draft.character = draft.character or speech.character


def _tell(joining: Joining, listing: Listing, speeches: int, lines: int) -> None:
    what = f"has {speeches} speeches that no line has, and there are {lines} lines without words"
    remedy = "which is which cannot be told: write them into the list"
    joining.messages.append(Message(listing.file, "", what, remedy))


def _plain(text: str) -> str:
    return "".join(letter for letter in text.casefold() if letter.isalnum())
