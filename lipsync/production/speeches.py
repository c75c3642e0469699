"""What scripts and subtitles say, given to the lines that a list or an edit names without their words.

In: the drafts of a `Joining`, and listings of scripts and subtitles. Out: the same drafts with words and characters.
Speeches and lines are matched by their order, and only where there are as many speeches as lines without words: scene
by scene if the script has several scenes, else in all. If the counts differ, that is told, and nothing is guessed.
"""

from __future__ import annotations

from collections.abc import Sequence

from lipsync.message import Message, Where
from lipsync.production.drafts import Draft, Joining
from lipsync.production.letters import letters_of
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
    """Return the speeches whose words no line has yet."""
    said = {
        letters_of(draft.row.text or (draft.present[1].text if draft.present else "")) for draft in joining.drafts
    }
    for scene in joining.names.scenes:
        said |= {letters_of(line.text) for _, line in joining.names.present(scene)}
    return [row for row in listing.rows if letters_of(row.text or "") not in said]


def _fill_scene(
    joining: Joining, listing: Listing, called: str, wordless: Sequence[Draft], speeches: Sequence[Listed]
) -> None:
    own = [speech for speech in speeches if speech.scene == called]
    try:
        scene = joining.names.scene(called, new=False)
    except ValueError:
        joining.messages.append(Message.of("speeches of no scene", Where(listing.file), scene=called))
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
    facts = {"speeches": speeches, "lines": lines}
    joining.messages.append(Message.of("speeches not placed", Where(listing.file), **facts))
