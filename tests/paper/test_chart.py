"""The mouth chart: one page, every piece once, every sound under a shape that serves it."""

import re
from itertools import combinations

import pytest

from lipsync.errors import InputError
from lipsync.fit.mouthset import CUES, MouthSet
from lipsync.paper.chart_page import chart
from lipsync.paper.chart_tiles import ChartJob, served_by
from lipsync.paper.page_forms import PAPER
from lipsync.phonemes import PHONEMES


@pytest.fixture(scope="module")
def mouth_sets(make_job):
    return [character.mouth_set for character in make_job(1, characters=2).characters]


@pytest.fixture(scope="module")
def many(mouth_sets):
    """A function that makes a set of so many pieces, three sizes to a shape."""

    def made(count):
        ours = mouth_sets[0]
        pieces = [piece.model_dump() for piece in ours.piece][:count]
        for index in range(len(pieces), count):
            size = {"code": f"X{index}", "name": f"shape{index // 3}-{index % 3 + 1}", "size": index % 3 + 1}
            pieces.append({**pieces[index % len(ours.piece)], **size, "shape": f"shape{index // 3}"})
        return MouthSet.model_validate({**ours.model_dump(), "piece": tuple(pieces)})

    return made


@pytest.mark.parametrize("page", PAPER)
def test_every_piece_stands_once_on_one_page_and_nothing_over_anything(mouth_sets, read, page):
    for mouth_set in mouth_sets:
        document = chart(ChartJob("Low Tide Post", "Ænne Šťovíková", mouth_set, page))
        ((width, height, texts),) = read(document)
        assert sorted((width, height)) == pytest.approx(sorted(PAPER[page]), abs=0.1)
        codes = [text for text in texts if text.text in mouth_set.by_code and text.bold]
        assert sorted(text.text for text in codes) == sorted(mouth_set.by_code)
        assert min(text.size for text in codes) >= 13
        names = [text.text for text in texts]
        assert all(piece.name in names for piece in mouth_set.piece)
        assert "Ænne Šťovíková" in names
        for text in texts:
            assert 3 <= text.left < text.right <= width - 3
            assert 3 <= text.top < text.bottom <= height - 3
            assert text.size >= 7
        for a, b in combinations(texts, 2):
            assert a.right <= b.left or b.right <= a.left or a.bottom <= b.top or b.bottom <= a.top, (a, b)


def test_every_sound_stands_with_its_example_under_a_shape_that_serves_it(mouth_sets, read):
    for mouth_set in mouth_sets:
        ((_, _, texts),) = read(chart(ChartJob("Low Tide Post", "Zoë Wade", mouth_set)))
        words = [text.text for text in texts]
        for symbol, row in PHONEMES.items():
            shown = [place for place, word in enumerate(words) if word.strip("…") == symbol]
            assert len(shown) == len(set(mouth_set.phonemes[symbol])), symbol
            for place in shown:
                assert words[place + 1] == row.example
                # The shape is the last one that was named before the sound.
                shape = next(word for word in reversed(words[:place]) if word in mouth_set.sizes)
                assert shape in mouth_set.phonemes[symbol]
        for cue in CUES:
            assert words.count(f"[{cue}]") == 1


def test_sizes_stand_side_by_side_the_smallest_first(mouth_sets, read):
    for mouth_set in mouth_sets:
        ((_, _, texts),) = read(chart(ChartJob("Low Tide Post", "Zoë Wade", mouth_set)))
        where = {text.text: text for text in texts if text.text in mouth_set.by_code and text.bold}
        for pieces in mouth_set.sizes.values():
            row = [where[piece.code] for piece in pieces]
            assert [text.left for text in row] == sorted(text.left for text in row)
            assert len({round(text.baseline, 2) for text in row}) == 1


def test_of_a_diphthong_each_part_stands_under_its_shape(mouth_sets):
    driftwood = next(one for one in mouth_sets if one.name == "Driftwood")
    assert driftwood.phonemes["AW"] == ("open", "pout")
    assert "AW…" in [served.symbol for served in served_by(driftwood, "open")]
    assert "…AW" in [served.symbol for served in served_by(driftwood, "pout")]


@pytest.mark.parametrize("page", PAPER)
def test_a_chart_leaves_no_part_of_its_page_empty(mouth_sets, read, page):
    for mouth_set in mouth_sets:
        ((_, height, texts),) = read(chart(ChartJob("Low Tide Post", "Zoë Wade", mouth_set, page)))
        assert max(text.bottom for text in texts) > 0.86 * height, mouth_set.name
        if page in ("A3", "Tabloid"):
            # A larger page is read from further away: its sounds are larger than those of A4 and Letter.
            assert min(text.size for text in texts if text.text == PHONEMES["B"].example) >= 12


@pytest.mark.parametrize("count", [30, 60, 120, 200])
def test_many_pieces_fit_one_a3_page(many, read, count):
    ((_, _, texts),) = read(chart(ChartJob("Low Tide Post", "Zoë Wade", many(count), "A3")))
    codes = [text for text in texts if re.fullmatch(r"[A-Z]+\d*", text.text) and text.bold]
    assert {f"X{index}" for index in range(8, count)} <= {text.text for text in codes}
    assert min(text.size for text in texts) >= 7
    for a, b in combinations(texts, 2):
        assert a.right <= b.left or b.right <= a.left or a.bottom <= b.top or b.bottom <= a.top, (a, b)


def test_pieces_that_are_too_many_for_the_page_are_refused_with_what_would_fit(many):
    with pytest.raises(InputError, match="has 200 pieces, too many for the mouth chart on one A4 page; use A3 or"):
        chart(ChartJob("Low Tide Post", "Zoë Wade", many(200), "A4"))
    assert chart(ChartJob("Low Tide Post", "Zoë Wade", many(200), "Tabloid")).pages
