"""People, not machines: two recordings with phonemes placed by hand, from the source package of praatio (MIT).

Read once through pip, by name and version, and kept in the user's cache folder; the sum is checked each time.
Without a registry the tests are skipped; where the variable CI is set they fail instead.
"""

import statistics

import pytest

from lipsync.align.line import listen
from tests.source_packages import unpacked

PACKAGE, VERSION = "praatio", "6.2.2"
SHA256 = "ed8fdee6121bdae142817879ed9a50cc8334e72c03c110162e21ed8160180d2a"

# Labels as their makers wrote them -> ARPAbet; PT is one label for the end of "ripped".
ARPABET = {"ə": "AH", "i": "IY", "o": "OW", "θ": "DH", "œ": "AE", "PT": "P+T"}
LINES = {
    "bobby": ("Bobby ripped the ledger.", "bobby_phones", "phone"),
    "mary": ("Mary rolled the barrel.", "mary", "phone"),
}


@pytest.fixture(scope="session")
def package(tmp_path_factory):
    """The folder of the unpacked source package."""
    return unpacked(PACKAGE, VERSION, SHA256, tmp_path_factory.mktemp(PACKAGE))


def labels(package, name, tier):
    """Phones as [ARPAbet, start_s, end_s]."""
    from praatio import textgrid

    grid = textgrid.openTextgrid(
        str(package / "examples" / "files" / f"{name}.TextGrid"), includeEmptyIntervals=False
    )
    plain = [(entry.label.strip().rstrip("012"), entry.start, entry.end) for entry in grid.getTier(tier).entries]
    return [(ARPABET.get(label, label.upper()), start, end) for label, start, end in plain]


@pytest.fixture(scope="module")
def heard(package):
    return {name: listen(package / "examples" / "files" / f"{name}.wav", LINES[name][0]) for name in LINES}


def test_phonemes_are_where_a_person_put_them(package, heard, pairs):
    """Two people placing the same boundaries agree within 20 ms on 94 % (Hosom 2009); one frame at 24 is 41.7 ms."""
    errors = []
    for name, (_, grid, tier) in LINES.items():
        labelled = labels(package, grid, tier)
        computed = [(p.symbol, p.start_s, p.end_s) for p in heard[name].phonemes]
        errors += [ours[1] - theirs[1] for ours, theirs in pairs(computed, labelled)]
    sizes = [abs(error) for error in errors]
    assert len(sizes) >= 25  # of 26
    assert statistics.median(sizes) < 0.016
    assert sum(size <= 1 / 24 for size in sizes) >= 0.8 * len(sizes)
    assert abs(statistics.median(errors)) < 0.008


def test_words_begin_where_a_person_put_them(package, heard):
    for name, grid in (("bobby", "bobby_words"), ("mary", "mary")):
        expected = labels(package, grid, "word")
        assert [word.text.lower() for word in heard[name].words] == [label.lower() for label, _, _ in expected]
        for word, (_, start_s, _) in zip(heard[name].words, expected, strict=True):
            assert word.start_s == pytest.approx(start_s, abs=1.5 / 24)


@pytest.mark.parametrize("form", ["16bit_16khz", "16bit_16khz_2ch", "16bit_48khz", "32bit_16khz", "32bit_48khz"])
def test_the_same_speech_in_other_forms_has_the_same_times(package, heard, form):
    breakdown = listen(package / "tests" / "files" / f"bobby_{form}.wav", LINES["bobby"][0])
    for word, expected in zip(breakdown.words, heard["bobby"].words, strict=True):
        assert word.start_s == pytest.approx(expected.start_s, abs=0.010)
        assert not word.doubtful


def test_each_text_fits_its_own_recording(package, heard):
    for name in LINES:
        assert not any(word.doubtful for word in heard[name].words)
