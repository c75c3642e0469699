"""The count as pages: the counted numbers on the right lines, on as many pages as it takes."""

from itertools import combinations

import pytest

from lipsync.paper.count_page import CountCharacter, CountJob, count_page
from lipsync.paper.page_forms import PAPER
from lipsync.paper.sheet_settings import SheetSettings
from lipsync.workshop.counting import ShotTrack, count


@pytest.fixture(scope="module")
def counted(make_job):
    """A count of four characters over ten shots of two scenes."""
    shots = [(f"{seed % 2 + 1}-scene", make_job(seed, frames=120, characters=4)) for seed in range(10)]
    tracks = [ShotTrack(scene, job.shot, one.track) for scene, job in shots for one in job.characters]
    characters = shots[0][1].characters
    puppets = {one.track.character: place + 1 for place, one in enumerate(characters)}
    rows = count(tracks, puppets, {one.track.character: list(one.mouth_set.by_code) for one in characters})
    return tuple(
        CountCharacter(
            one.name,
            puppets[one.track.character],
            one.mouth_set,
            tuple(row for row in rows if row.character == one.track.character),
        )
        for one in characters
    )


@pytest.mark.parametrize("page", PAPER)
def test_every_number_stands_on_the_line_of_its_piece(counted, read, page):
    pages = read(count_page(CountJob("Low Tide Post", counted, settings=SheetSettings(page=page))))
    lines = []
    for width, height, texts in pages:
        for text in texts:
            assert 3 <= text.left < text.right <= width - 3
            assert 3 <= text.top < text.bottom <= height - 3
            assert text.size >= 7
        for a, b in combinations(texts, 2):
            assert a.right <= b.left or b.right <= a.left or a.bottom <= b.top or b.bottom <= a.top, (a, b)
        rows = {}
        for text in texts:
            rows.setdefault(round(text.baseline, 1), []).append(text)
        for baseline in sorted(rows):
            lines.append([text.text for text in sorted(rows[baseline], key=lambda text: text.left)])
    expected = [row for character in counted for row in character.rows]
    codes = {row.code for row in expected}
    printed = [line for line in lines if line[0] in codes]
    assert len(printed) == len(expected)
    for line, row in zip(printed, expected, strict=True):
        numbers = [int(word) for word in line if word.isdigit()]
        assert (line[0], numbers) == (row.code, [row.frames_seen, row.times_fitted, row.pieces_needed])
    totals = [[int(word) for word in line[1:]] for line in lines if line[0] == "total"]
    assert totals == [
        [
            sum(row.frames_seen for row in character.rows),
            sum(row.times_fitted for row in character.rows),
            sum(row.pieces_needed for row in character.rows),
        ]
        for character in counted
    ]


def test_a_character_and_a_set_of_two_hundred_pieces_take_pages_of_their_own(counted, read):
    longest = max(counted, key=lambda character: len(character.rows))
    many = CountCharacter(longest.name, 2, longest.mouth_set, longest.rows * 15)
    pages = read(count_page(CountJob("Low Tide Post", (many,))))
    assert len(pages) > 5
    for number, (_, _, texts) in enumerate(pages, start=1):
        assert f"page {number} of {len(pages)}" in [text.text for text in texts]
        assert "frames seen" in [text.text for text in texts]


def test_a_count_of_nothing_is_a_page_that_says_so(read):
    ((_, _, texts),) = read(count_page(CountJob("Low Tide Post", ())))
    assert "piece count" in [text.text for text in texts]
