"""Broken mouth sets: each fault named in its own words, all of them in one go, and nothing else ever raised."""

import re
import tomllib
from itertools import pairwise
from pathlib import Path

import pytest

from lipsync.errors import InputError
from lipsync.fit.mouthset import CUES, MouthSet, load_mouth_set
from lipsync.phonemes import DIPHTHONGS, PHONEMES
from tests.sample.hostile import NONSENSE, changed, places, replaced, without, written

FOLDER = Path(__file__).parents[2] / "mouthsets"
DRIFTWOOD = tomllib.loads((FOLDER / "driftwood.toml").read_text("utf-8"))
TIDELINE = tomllib.loads((FOLDER / "tideline.toml").read_text("utf-8"))
SHAPES = "name one of rest, open, spread, ring, pout, slot, tuck, shut"
NO_ROUND = "name one of rest, open, spread, pout, slot, tuck, shut"


def problems_of(path):
    with pytest.raises(InputError) as raised:
        load_mouth_set(path)
    assert all(problem.file == str(path) for problem in raised.value.problems)
    return [f"{problem.place}: {problem.text}" for problem in raised.value.problems]


# One change each -> the whole list of what is reported.
SINGLE = {
    "no form": (without(("form",)), ["form: is missing; add it"]),
    "a later form": (
        replaced(("form",), "lipsync mouth set 2"),
        ["form: found 'lipsync mouth set 2'; allowed are 'lipsync mouth set 1'"],
    ),
    "no name": (without(("name",)), ["name: is missing; add it"]),
    "empty name": (replaced(("name",), " "), ["name: found ' '; write at least 1 character"]),
    "long name": (
        replaced(("name",), "x" * 41),
        [f"name: found '{'x' * 41}'; write at most 40 characters"],
    ),
    "name of two lines": (
        replaced(("name",), "a\nb"),
        ["name: 'a\\nb' holds a character that does not print; write it in one line"],
    ),
    "misspelt key": (
        lambda d: d.update(materiel="clay"),
        ["materiel: is not known here; check its spelling or take it out"],
    ),
    "material": (replaced(("material",), "wood"), ["material: found 'wood'; allowed are 'clay' or 'hard'"]),
    "unknown rest": (replaced(("rest",), "calm"), [f"rest: shape 'calm' has no piece; {SHAPES}"]),
    "same code": (
        replaced(("piece", 7, "code"), "ring"),
        ["[[piece]] code RING: is on 2 pieces; give each its own code"],
    ),
    "same size": (
        lambda d: d["piece"].append({**d["piece"][1], "code": "OPEN2", "size": 1}),
        ["[[piece]] open: size 1 is on 2 pieces; give each its own size"],
    ),
    "long code": (
        replaced(("piece", 0, "code"), "RESTING"),
        [
            '[[piece]] 1 "RESTING" code: '
            "'RESTING' is no code; write up to six letters and digits, with + or - among them"
        ],
    ),
    "no code": (without(("piece", 0, "code")), ['[[piece]] 1 "rest" code: is missing; add it']),
    "size 0": (replaced(("piece", 1, "size"), 0), ['[[piece]] 2 "OPEN" size: found 0; 1 or more is allowed']),
    "size 10": (replaced(("piece", 1, "size"), 10), ['[[piece]] 2 "OPEN" size: found 10; 9 or less is allowed']),
    "size in quotes": (
        replaced(("piece", 1, "size"), "1"),
        ["[[piece]] 2 \"OPEN\" size: found '1'; write a whole number"],
    ),
    "size true": (
        replaced(("piece", 1, "size"), True),
        ['[[piece]] 2 "OPEN" size: found true; write a whole number'],
    ),
    "opening above 1": (
        replaced(("piece", 2, "lips", "opening"), 1.01),
        ['[[piece]] 3 "SPRD" [lips] opening: found 1.01; 1 or less is allowed'],
    ),
    "opening below 0": (
        replaced(("piece", 0, "lips", "opening"), -0.01),
        ['[[piece]] 1 "REST" [lips] opening: found -0.01; 0 or more is allowed'],
    ),
    "opening no number": (
        replaced(("piece", 0, "lips", "opening"), float("nan")),
        ['[[piece]] 1 "REST" [lips] opening: found nan; write a number'],
    ),
    "no lips": (without(("piece", 0, "lips")), ['[[piece]] 1 "REST" lips: is missing; add it']),
    "lips no table": (replaced(("piece", 0, "lips"), 1), ['[[piece]] 1 "REST" lips: found 1; write a table']),
    "hole": (without(("phonemes", "ZH")), [f"[phonemes] ZH: has no shape; {SHAPES}"]),
    "unknown phoneme": (
        replaced(("phonemes", "AA1"), "open"),
        ["[phonemes] AA1: is no ARPAbet phoneme (without stress); take it out or mend its spelling"],
    ),
    "unknown shape": (replaced(("phonemes", "L"), "lift"), [f"[phonemes] L: shape 'lift' has no piece; {SHAPES}"]),
    "unknown second shape": (
        replaced(("phonemes", "AW"), ["open", "wide"]),
        [f"[phonemes] AW: shape 'wide' has no piece; {SHAPES}"],
    ),
    "two shapes for one sound": (
        replaced(("phonemes", "IY"), ["slot", "open"]),
        ["[phonemes] IY: has 2 shapes; give it exactly one shape"],
    ),
    "three shapes": (
        replaced(("phonemes", "OW"), ["ring", "slot", "pout"]),
        ["[phonemes] OW: has 3 shapes; give it one shape or two in order"],
    ),
    "no shape": (replaced(("phonemes", "M"), []), ["[phonemes] M: has 0 shapes; give it exactly one shape"]),
    "shape no text": (replaced(("phonemes", "M"), 3), ["[phonemes] M: found 3; write a list in [ ]"]),
    "phonemes no table": (replaced(("phonemes",), 3), ["phonemes: found 3; write a table"]),
    "cue without shape": (without(("cues", "laugh")), [f"[cues] laugh: has no shape; {SHAPES}"]),
    "cue with unknown shape": (
        replaced(("cues", "sigh"), "soft"),
        [f"[cues] sigh: shape 'soft' has no piece; {SHAPES}"],
    ),
    "no cues": (without(("cues",)), ["cues: is missing; add it"]),
    "a shape without pieces": (
        without(("piece", 3)),
        [
            f"[phonemes] AO: shape 'ring' has no piece; {NO_ROUND}",
            f"[phonemes] OW: shape 'ring' has no piece; {NO_ROUND}",
            f"[phonemes] OY: shape 'ring' has no piece; {NO_ROUND}",
            f"[cues] sigh: shape 'ring' has no piece; {NO_ROUND}",
        ],
    ),
}


@pytest.mark.parametrize("name", SINGLE)
def test_a_single_fault_is_named_alone(name, tmp_path):
    change, expected = SINGLE[name]
    assert problems_of(written(tmp_path / "heron.toml", changed(DRIFTWOOD, change))) == expected


def test_the_message_is_one_line_with_file_and_place(tmp_path):
    path = written(tmp_path / "heron.toml", changed(DRIFTWOOD, without(("phonemes", "ZH"))))
    with pytest.raises(InputError, match=rf"^{re.escape(str(path))}: \[phonemes\] ZH: has no shape; {SHAPES}$"):
        load_mouth_set(path)


# Changes in different places, so that their faults add up. Some are seen in one value alone, others only by comparing
# tables.
APART = (
    "a later form",
    "misspelt key",
    "material",
    "unknown rest",
    "same size",
    "long code",
    "opening above 1",
    "hole",
    "unknown phoneme",
    "unknown shape",
    "two shapes for one sound",
    "shape no text",
    "cue without shape",
    "cue with unknown shape",
)


@pytest.mark.parametrize("names", [*pairwise(APART), APART], ids=" and ".join)
def test_several_faults_are_all_named_in_one_go(names, tmp_path):
    found = problems_of(written(tmp_path / "heron.toml", changed(DRIFTWOOD, *(SINGLE[name][0] for name in names))))
    assert sorted(found) == sorted(line for name in names for line in SINGLE[name][1])


def test_an_empty_table_of_phonemes_names_all_39(tmp_path):
    path = written(tmp_path / "heron.toml", changed(DRIFTWOOD, replaced(("phonemes",), {})))
    assert problems_of(path) == [f"[phonemes] {symbol}: has no shape; {SHAPES}" for symbol in PHONEMES]


def test_without_pieces_nothing_has_a_shape(tmp_path):
    path = written(tmp_path / "heron.toml", changed(DRIFTWOOD, replaced(("piece",), [])))
    found = problems_of(path)
    remedy = "has no piece; add pieces, each with its shape"
    assert found[:3] == [
        "[[piece]]: found 0 pieces; a set has from 2 to 200, so that mouths can change",
        f"rest: shape 'rest' {remedy}",
        f"[phonemes] AA: shape 'open' {remedy}",
    ]
    halves = sum(len(shapes) if isinstance(shapes, list) else 1 for shapes in DRIFTWOOD["phonemes"].values())
    assert len(found) == 2 + halves + len(CUES)


def test_a_single_piece_is_no_set(tmp_path):
    """Every sound in the one shape that there is."""
    phonemes, cues = dict.fromkeys(PHONEMES, "rest"), dict.fromkeys(CUES, "rest")
    edits = (
        replaced(("piece",), DRIFTWOOD["piece"][:1]),
        replaced(("phonemes",), phonemes),
        replaced(("cues",), cues),
    )
    path = written(tmp_path / "heron.toml", changed(DRIFTWOOD, *edits))
    assert problems_of(path) == ["[[piece]]: found 1 piece; a set has from 2 to 200, so that mouths can change"]


def test_more_pieces_than_a_board_holds(tmp_path):
    one = DRIFTWOOD["piece"][0]
    many = [{**one, "code": f"C{n}", "name": f"c-{n}", "shape": f"c{n}"} for n in range(193)]
    path = written(tmp_path / "heron.toml", changed(DRIFTWOOD, lambda d: d["piece"].extend(many)))
    assert problems_of(path) == ["[[piece]]: found 201 pieces; a set has from 2 to 200, so that mouths can change"]


@pytest.mark.parametrize(
    ("raw", "message"),
    [
        (b"", "form: is missing; add it"),
        (b"\xff\xfe", "is no text in UTF-8; save it from an editor as plain text in UTF-8"),
        (
            b'form = "lipsync mouth set 1\nname = "x"',
            r"line 1, column 28: is not TOML here \(Illegal character '\\n'\); check quotes, brackets and '='",
        ),
        (b"a = 1\na = 2", r"end of document: is not TOML here \(Cannot overwrite a value\); check quotes"),
        (b"a = " + b"[" * 100_000, r"is not TOML here \(too deeply nested\); check quotes, brackets and '='"),
        (b"a = " + b"9" * 5_000, r"is not TOML here \(Exceeds the limit .*\); check quotes, brackets and '='"),
    ],
    ids=["empty", "no text", "open quote", "twice", "deep", "long number"],
)
def test_what_is_no_toml(raw, message, tmp_path):
    path = tmp_path / "heron.toml"
    path.write_bytes(raw)
    with pytest.raises(InputError, match=rf"(?m)^{re.escape(str(path))}: {message}"):
        load_mouth_set(path)


def test_no_file_and_a_folder_in_its_place(tmp_path):
    with pytest.raises(InputError, match=r"no\.toml: there is no such file; check its name and folder$"):
        load_mouth_set(tmp_path / "no.toml")
    with pytest.raises(InputError, match=r": cannot be read \(Is a directory\); check the file and its permissions$"):
        load_mouth_set(tmp_path)


def test_a_byte_order_mark_and_windows_line_ends_are_read(tmp_path):
    path = tmp_path / "heron.toml"
    text = (FOLDER / "driftwood.toml").read_text("utf-8")
    path.write_bytes(b"\xef\xbb\xbf" + text.replace("\n", "\r\n").encode())
    assert load_mouth_set(path).model_dump() == load_mouth_set(FOLDER / "driftwood.toml").model_dump()


def outcome(path, data):
    """Return the problems of a changed set, none if it loads; any other exception goes through."""
    problems = ()
    try:
        loaded = load_mouth_set(written(path, data))
    except InputError as error:
        problems = error.problems
    else:
        assert isinstance(loaded, MouthSet)
        assert all(loaded.sizes[shape] for symbol in PHONEMES for shape in loaded.shapes_of(symbol))
    for problem in problems:
        assert problem.file == str(path)
        assert "\n" not in str(problem)
        assert ";" in problem.text, f"no remedy in {problem}"
        assert len(str(problem)) < 500
    return problems


@pytest.mark.parametrize("data", [DRIFTWOOD, TIDELINE], ids=["driftwood", "tideline"])
def test_each_single_deletion_loads_or_is_refused_in_our_words(data, tmp_path):
    # What may go: it has a default, or is one half of a diphthong, or a larger size of a shape that has others.
    may_go = 0
    for place in places(data):
        problems = outcome(tmp_path / "heron.toml", changed(data, without(place)))
        optional = place[-1] in ("about", "material", "teeth", "tongue") or (place[-1] == "size")
        half = place[0] == "phonemes" and len(place) == 3
        if not problems:
            may_go += 1
            spare = place[0] == "piece" and len(place) == 2
            assert optional or half or spare, place
        if half:
            assert place[1] in DIPHTHONGS
            assert not problems
    assert may_go > 15


def test_each_single_replacement_loads_or_is_refused_in_our_words(tmp_path):
    refused = 0
    alike = [("piece", 0), ("piece", 4), ("phonemes", "P"), ("phonemes", "AW"), ("cues", "laugh")]
    for place in places(DRIFTWOOD):
        if len(place) > 1 and place[:2] not in alike:
            continue  # the other pieces, phonemes and cues are like these
        for value in NONSENSE:
            refused += bool(outcome(tmp_path / "heron.toml", changed(DRIFTWOOD, replaced(place, value))))
    assert refused > 500
