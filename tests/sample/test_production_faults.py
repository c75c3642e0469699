"""Broken productions and scenes: each fault named in its own words, all in one go, and nothing else ever raised."""

import re
import shutil
import tomllib
from itertools import pairwise
from pathlib import Path

import pytest

from lipsync.errors import InputError
from lipsync.production.loading import open_production
from tests.sample.hostile import NONSENSE, changed, places, replaced, without, written

SAMPLE = Path(__file__).parents[2] / "sample_audio"
FILES = ("production.toml", "scenes/01-lamp-room.toml", "scenes/02-post-office.toml")
MAIN, LAMP, POST = FILES
DATA = {name: tomllib.loads((SAMPLE / name).read_text("utf-8")) for name in FILES}

SHOT_010 = '[[shot]] 1 "010"'
SHOT_040 = '[[shot]] 2 "040"'
LINE_010_A = f'{SHOT_010} [[line]] 1 "010-a"'
LINE_010_B = f'{SHOT_010} [[line]] 2 "010-b"'
LINE_030_A = '[[shot]] 1 "030" [[line]] 1 "030-a"'
POINTS = 'write seconds (1.5 or "1.5 s"), frames ("36 f") or timecode ("01:00:00:12")'
BEGINNINGS = 'write a frame number (12), seconds ("1.5 s"), frames ("36 f") or timecode ("01:00:00:12")'
# Of Driftwood, as its file has them.
SHAPES = "rest, open, spread, ring, pout, slot, tuck, shut"
CODES = "REST, OPEN, SPRD, RING, POUT, SLOT, TUCK, SHUT"
PHONEMES_39 = (
    "AA AE AH AO AW AY B CH D DH EH ER EY F G HH IH IY JH K L M N NG OW OY P R S SH T TH UH UW V W Y Z ZH, "
    "vowels with stress 0, 1 or 2"
)


def laid(folder, **changes):
    """Write the sample production with changes; a file's name stands for its key in `FILES`, as main, lamp, post."""
    for key, name in zip(("main", "lamp", "post"), FILES, strict=True):
        written(folder / name, changed(DATA[name], *changes.get(key, ())))
    if not (folder / "recordings").exists():
        (folder / "recordings").symlink_to(SAMPLE / "recordings")
    return folder


def problems_of(folder):
    """Return what is reported, with files as they are called inside the folder."""
    with pytest.raises(InputError) as raised:
        open_production(folder)
    return [str(problem).replace(f"{folder}/", "") for problem in raised.value.problems]


def shot(number, *place):
    return ("shot", number, *place)


def line(number, row, *place):
    return ("shot", number, "line", row, *place)


# Which file, one change -> the whole list of what is reported. Each in a place of its own, so that they add up.
SINGLE = {
    "rate 0": (
        "main",
        replaced(("frame_rate",), 0),
        [
            f"{MAIN}: frame_rate: 0 is no frame rate; "
            'write an exact one, such as 24, 25, 30, "24000/1001" or "30000/1001"'
        ],
    ),
    "no title": ("main", without(("title",)), [f"{MAIN}: title: is missing; add it"]),
    "misspelt key": (
        "main",
        replaced(("framerate",), 24),
        [f"{MAIN}: framerate: is not known here; check its spelling or take it out"],
    ),
    "film": ("main", replaced(("film",), "70mm"), [f"{MAIN}: film: found '70mm'; allowed are '35mm' or '16mm'"]),
    "date in quotes": (
        "main",
        replaced(("dated",), "24/11/2026"),
        [f"{MAIN}: dated: found '24/11/2026'; write a date, such as 2026-11-24, without quotes"],
    ),
    "no puppets": (
        "main",
        replaced(("characters", "crab", "puppets"), 0),
        [f"{MAIN}: [characters] [crab] puppets: found 0; 1 or more is allowed"],
    ),
    "no such mouth set": (
        "main",
        replaced(("characters", "heron", "mouth_set"), "flotsam"),
        [
            f"{MAIN}: [characters] [heron] mouth_set: 'flotsam' is neither mouthsets/flotsam.toml nor one of those "
            "that ship (driftwood, tideline)"
        ],
    ),
    "bad pronunciation": (
        "main",
        replaced(("pronunciations", "Skerrivane"), "S K EH1 R IX0"),
        [
            f"{MAIN}: [pronunciations] Skerrivane: 'IX0' is no ARPAbet phoneme; the 39 are {PHONEMES_39}",
        ],
    ),
    "empty pronunciation": (
        "main",
        replaced(("pronunciations", "Pomfleby"), ["P AA1 M", " "]),
        [
            f"{MAIN}: [pronunciations] Pomfleby: ['P AA1 M', ' '] is no pronunciation; "
            'write ARPAbet, such as "L AO1 R IY0", or a list of such'
        ],
    ),
    "page": (
        "main",
        replaced(("sheet", "page"), "A5"),
        [f"{MAIN}: [sheet] page: found 'A5'; allowed are 'A4', 'A3', 'Letter' or 'Tabloid'"],
    ),
    "no frames": ("lamp", without(shot(0, "frames")), [f"{LAMP}: {SHOT_010} frames: is missing; add it"]),
    "no character of that name": (
        "lamp",
        replaced(line(1, 0, "character"), "gull"),
        [
            f'{LAMP}: [[shot]] 2 "020" [[line]] 1 "020-a" character: \'gull\' is no character of the production; '
            "the characters are heron, crab"
        ],
    ),
    "bad line id": (
        "lamp",
        replaced(line(1, 1, "id"), "020/b"),
        [
            f'{LAMP}: [[shot]] 2 "020" [[line]] 2 "020/b" id: '
            "'020/b' is no id; write up to 40 of a-z A-Z 0-9 _ . -, a letter or digit first"
        ],
    ),
    "in below 0": (
        "lamp",
        replaced(line(1, 2, "in"), -0.5),
        [f'{LAMP}: [[shot]] 2 "020" [[line]] 3 "020-c" in: found -0.5; 0 or more is allowed'],
    ),
    "begins a fraction": (
        "lamp",
        replaced(line(1, 2, "begins"), 1.5),
        [f'{LAMP}: [[shot]] 2 "020" [[line]] 3 "020-c" begins: 1.5 is no beginning; {BEGINNINGS}'],
    ),
    "out is in": (
        "post",
        replaced(line(0, 0, "out"), 0.0),
        [f"{POST}: {LINE_030_A} out: is not after in; out must be later than in"],
    ),
    "in no number": (
        "post",
        replaced(line(0, 1, "in"), "soon"),
        [f'{POST}: [[shot]] 1 "030" [[line]] 2 "030-b" in: \'soon\' is no point of a recording; ' + POINTS],
    ),
    "no text": (
        "post",
        without(line(1, 0, "text")),
        [f'{POST}: {SHOT_040} [[line]] 1 "040-a" text: is missing; add it'],
    ),
    "no recording": (
        "post",
        replaced(line(1, 0, "recording"), ""),
        [f"{POST}: {SHOT_040} [[line]] 1 \"040-a\" recording: found ''; write at least 1 character"],
    ),
    "rests on nothing": (
        "post",
        replaced(shot(1, "characters", "crab", "rests_on"), "grin"),
        [
            f"{POST}: {SHOT_040} [characters] [crab] rests_on: 'grin' is no shape or code of its mouth set; "
            f"it has {SHAPES}, {CODES}"
        ],
    ),
    "nobody's camera": (
        "post",
        replaced(shot(1, "characters", "gull"), {}),
        [
            f"{POST}: {SHOT_040} [characters] [gull]: is no character of the production; "
            "the characters are heron, crab"
        ],
    ),
    "on camera too long": (
        "post",
        replaced(shot(1, "characters", "crab", "on_camera"), [[1, 60], [109, 301]]),
        [
            f"{POST}: {SHOT_040} [characters] [crab] on_camera: "
            "found [109, 301]; frames of this shot are 1 to 300, first before last"
        ],
    ),
}

# Faults of time, of which a production has room for one at a place.
TIMES = {
    "frame 0 on camera": (
        "post",
        replaced(shot(1, "characters", "crab", "on_camera"), [[0, 5]]),
        f"{POST}: {SHOT_040} [characters] [crab] on_camera: "
        "found [0, 5]; frames of this shot are 1 to 300, first before last",
    ),
    "camera backwards": (
        "post",
        replaced(shot(1, "characters", "crab", "on_camera"), [[60, 1]]),
        f"{POST}: {SHOT_040} [characters] [crab] on_camera: "
        "found [60, 1]; frames of this shot are 1 to 300, first before last",
    ),
    "drop-frame at 24": (
        "lamp",
        replaced(shot(0, "start"), "01:00:00;00"),
        f"{LAMP}: {SHOT_010} start: drop-frame timecode exists at 30000/1001 and 60000/1001 frames a second only, "
        "not at 24; write ':' for ';'",
    ),
    "start no timecode": (
        "lamp",
        replaced(shot(0, "start"), "01:00:00:24"),
        f"{LAMP}: {SHOT_010} start: '01:00:00:24' is no timecode at 24 frames a second; "
        "write HH:MM:SS:FF, FF from 00 to 23",
    ),
    "begins a frame after the shot": (
        "lamp",
        replaced(line(0, 0, "begins"), 193),
        f"{LAMP}: {LINE_010_A} begins: "
        "found 193, after the shot ends; "
        "its last frame is 192: begin earlier or lengthen the shot",
    ),
    "begins seconds after the shot": (
        "lamp",
        replaced(line(0, 0, "begins"), "8 s"),
        f"{LAMP}: {LINE_010_A} begins: "
        "found '8 s', after the shot ends; "
        "its last frame is 192: begin earlier or lengthen the shot",
    ),
    "begins a timecode after the shot": (
        "lamp",
        replaced(line(0, 1, "begins"), "01:00:08:00"),
        f"{LAMP}: {LINE_010_B} begins: "
        "found '01:00:08:00', after the shot ends; "
        "its last frame is 192: begin earlier or lengthen the shot",
    ),
    "begins at the wrong hour": (
        "lamp",
        replaced(line(0, 1, "begins"), "00:00:04:04"),
        f"{LAMP}: {LINE_010_B} begins: "
        "found '00:00:04:04', long before the shot begins at 01:00:00:00; is its hour right?",
    ),
    "begins in words": (
        "lamp",
        replaced(line(0, 0, "begins"), "later"),
        f"{LAMP}: {LINE_010_A} begins: 'later' is no beginning; {BEGINNINGS}",
    ),
    "begins without a unit": (
        "lamp",
        replaced(line(0, 0, "begins"), "12"),
        f"{LAMP}: {LINE_010_A} begins: '12' is no beginning; {BEGINNINGS}",
    ),
    "begins at no second": (
        "lamp",
        replaced(line(0, 0, "begins"), "soon s"),
        f"{LAMP}: {LINE_010_A} begins: 'soon' is no number of seconds; write one such as 1.5",
    ),
    "begins at no timecode": (
        "lamp",
        replaced(line(0, 0, "begins"), "1:2:3"),
        f"{LAMP}: {LINE_010_A} begins: '1:2:3' is no timecode at 24 frames a second; "
        "write HH:MM:SS:FF, FF from 00 to 23",
    ),
}


@pytest.mark.parametrize("name", [*SINGLE, *TIMES])
def test_a_single_fault_is_named_alone(name, tmp_path):
    file, change, expected = {**SINGLE, **TIMES}[name]
    assert problems_of(laid(tmp_path, **{file: [change]})) == (expected if isinstance(expected, list) else [expected])


@pytest.mark.parametrize("names", [*pairwise(SINGLE), tuple(SINGLE)], ids=" and ".join)
def test_several_faults_are_all_named_in_one_go(names, tmp_path):
    changes = {"main": [], "lamp": [], "post": []}
    for name in names:
        file, change, _ = SINGLE[name]
        changes[file].append(change)
    expected = [text for name in names for text in SINGLE[name][2]]
    assert sorted(problems_of(laid(tmp_path, **changes))) == sorted(expected)


def test_what_needs_the_rate_is_asked_once_there_is_one(tmp_path):
    # A frame number can be out of range at any rate, but where it is in time cannot be said without one.
    late = TIMES["begins a frame after the shot"]
    assert problems_of(laid(tmp_path, main=[SINGLE["rate 0"][1]], lamp=[late[1]])) == SINGLE["rate 0"][2]
    assert problems_of(laid(tmp_path, lamp=[late[1]])) == [late[2]]


def test_no_folder_and_no_file(tmp_path):
    missing = "there is no such file; give the folder of a production, or start one with `lipsync new FOLDER`"
    assert problems_of(tmp_path / "nowhere") == [f"production.toml: {missing}"]
    assert problems_of(tmp_path) == [f"production.toml: {missing}"]


def test_a_file_where_a_folder_is_meant(tmp_path):
    file = tmp_path / "film.toml"
    file.write_text("")
    with pytest.raises(InputError, match=r"film\.toml: is a file; give the folder of the production, such as "):
        open_production(file)


def test_no_scene(tmp_path):
    laid(tmp_path)
    shutil.rmtree(tmp_path / "scenes")
    assert problems_of(tmp_path) == ["scenes: holds no scene; write one as NAME.toml there"]


def test_no_characters(tmp_path):
    laid(tmp_path, main=[replaced(("characters",), {})])
    found = problems_of(tmp_path)
    assert found[0] == "production.toml: [characters]: names nobody; add [characters.NAME] with name and mouth_set"
    assert f"{LAMP}: {LINE_010_A} character: 'heron' is no character of the production; it has none yet" in found


def test_a_broken_character_is_a_character_all_the_same(tmp_path):
    # Or every line of it would be reported as nobody's.
    laid(tmp_path, main=[without(("characters", "heron", "mouth_set"))])
    assert problems_of(tmp_path) == [f"{MAIN}: [characters] [heron] mouth_set: is missing; add it"]


@pytest.mark.parametrize("name", FILES)
def test_what_is_no_toml_is_named_with_its_line_and_the_other_files_are_read_too(name, tmp_path):
    laid(tmp_path, main=[SINGLE["film"][1]], lamp=[SINGLE["bad line id"][1]], post=[SINGLE["no recording"][1]])
    text = (tmp_path / name).read_text("utf-8")
    (tmp_path / name).write_text("title = Low Tide Post\n" + text, encoding="utf-8")
    found = problems_of(tmp_path)
    toml = f"{name}: line 1, column 9: is not TOML here (Invalid value); check quotes, brackets and '='"
    others = {MAIN: "film", LAMP: "bad line id", POST: "no recording"}
    expected = [text for file, fault in others.items() if file != name for text in SINGLE[fault][2]]
    assert sorted(found) == sorted([toml, *expected])


def test_a_broken_mouth_set_of_the_studio_is_named_once_though_two_wear_it(tmp_path):
    laid(tmp_path, main=[replaced(("characters", who, "mouth_set"), "own") for who in ("heron", "crab")])
    mouth_set = tomllib.loads((SAMPLE.parent / "mouthsets/driftwood.toml").read_text("utf-8"))
    written(tmp_path / "mouthsets/own.toml", changed(mouth_set, without(("phonemes", "ZH"))))
    assert problems_of(tmp_path) == [f"mouthsets/own.toml: [phonemes] ZH: has no shape; name one of {SHAPES}"]


def test_the_studios_own_mouth_set_goes_before_one_that_ships(tmp_path):
    laid(tmp_path)
    mouth_set = tomllib.loads((SAMPLE.parent / "mouthsets/driftwood.toml").read_text("utf-8"))
    written(tmp_path / "mouthsets/driftwood.toml", changed(mouth_set, replaced(("name",), "Ours")))
    assert open_production(tmp_path).mouth_sets["crab"].name == "Ours"


def test_ids_are_shared_by_nobody_in_a_scene(tmp_path):
    changes = [
        replaced(shot(1, "id"), "010"),
        replaced(line(1, 0, "id"), "010-A"),
        replaced(line(1, 1, "id"), "010-b"),
    ]
    each = "give each shot and line of a scene its own"
    second = '[[shot]] 2 "010"'
    assert problems_of(laid(tmp_path, lamp=changes)) == [
        f"{LAMP}: {SHOT_010} id: is also the id of {second}; {each}",
        # On some disks two names that differ in capitals only are one file.
        f'{LAMP}: {LINE_010_A} id: is also the id of {second} [[line]] 1 "010-A"; {each}',
        f'{LAMP}: {SHOT_010} [[line]] 2 "010-b" id: is also the id of {second} [[line]] 2 "010-b"; {each}',
    ]


def test_another_scene_may_have_the_same_ids(tmp_path):
    """Slates are commonly numbered anew in each scene (common practice)."""
    own = [replaced(shot(0, "id"), "010"), replaced(line(0, 0, "id"), "010-a")]
    production = open_production(laid(tmp_path, post=own))
    assert [scene.shots[0].id for scene in production.scenes] == ["010", "010"]


def test_timecode_with_and_without_dropped_labels_is_not_mixed(tmp_path):
    ntsc = replaced(("frame_rate",), "30000/1001")
    begins = replaced(line(0, 1, "begins"), "01:00:04;04")
    assert problems_of(laid(tmp_path, main=[ntsc], lamp=[begins])) == [
        f"{LAMP}: {LINE_010_B} begins: '01:00:04;04' and the shot's start '01:00:00:00' are counted differently; "
        "write ':' or ';' in both"
    ]
    drop = [begins, replaced(shot(0, "start"), "01:00:00;00")]
    production = open_production(laid(tmp_path, main=[ntsc], lamp=drop))
    first = production.scenes[0].shots[0]
    assert production.start_frame(first) == (107_892, True)  # one hour, SMPTE ST 12-1
    assert production.begins_us(first.line[1], first) == 4_137_467  # 124 * 1001 / 30000 s, the next whole microsecond


def test_a_label_that_does_not_exist(tmp_path):
    ntsc = replaced(("frame_rate",), "30000/1001")
    start = replaced(shot(0, "start"), "01:01:00;01")
    found = problems_of(laid(tmp_path, main=[ntsc], lamp=[start]))
    assert found[0] == (
        f"{LAMP}: {SHOT_010} start: '01:01:00;01' does not exist: drop-frame timecode leaves out that label; "
        "the next is ;02"
    )


def test_frames_are_counted_from_the_productions_first(tmp_path):
    first = replaced(("first_frame",), 1001)
    camera = replaced(shot(1, "characters", "crab", "on_camera"), [[1001, 1300]])
    lines = [replaced(line(0, 0, "begins"), 1001), replaced(line(1, 1, "begins"), 1300)]
    lines += [replaced(line(1, row, "begins"), "0 s") for row in (0, 2, 3)]
    lamp = [replaced(line(s, r, "begins"), 1001) for s, r in ((0, 0), (1, 0), (1, 2))]
    production = open_production(laid(tmp_path, main=[first], lamp=lamp, post=[camera, *lines]))
    last = production.scenes[1].shots[1]
    assert production.begins_us(last.line[1], last) == 12_458_334  # 299 / 24 s, the next whole microsecond
    assert production.on_camera("crab", last) == (True,) * 300
    low = [replaced(shot(1, "characters", "crab", "on_camera"), [[1, 300]])]
    assert problems_of(laid(tmp_path, main=[first], lamp=lamp, post=[*low, *lines])) == [
        f"{POST}: {SHOT_040} [characters] [crab] on_camera: "
        "found [1, 300]; frames of this shot are 1001 to 1300, first before last"
    ]


def test_a_line_may_begin_before_its_shot(tmp_path):
    production = open_production(laid(tmp_path, lamp=[replaced(line(0, 0, "begins"), "-1.5 s")]))
    first = production.scenes[0].shots[0]
    assert production.begins_us(first.line[0], first) == -1_500_000


def test_files_of_other_programs_are_left_alone(tmp_path):
    laid(tmp_path)
    (tmp_path / "scenes/._01-lamp-room.toml").write_bytes(b"\x00\x05\x16\x07")
    (tmp_path / "scenes/notes.txt").write_text("not a scene")
    assert len(open_production(tmp_path).scenes) == 2


def outcome(folder):
    """Return what is reported of a folder, nothing if it loads; any other exception goes through."""
    problems = ()
    try:
        open_production(folder)
    except InputError as error:
        problems = error.problems
    for problem in problems:
        assert problem.file.startswith(str(folder))
        assert "\n" not in str(problem)
        assert re.search(r"; |is neither|first before last|its hour right", problem.text)
        assert len(str(problem)) < 600
    return problems


@pytest.mark.parametrize("name", FILES)
def test_each_single_deletion_and_replacement_loads_or_is_refused_in_our_words(name, tmp_path):
    laid(tmp_path)
    refused = 0
    for place in places(DATA[name]):
        changes = [without(place)]
        rows = [key for key in place[:-1] if isinstance(key, int)]
        if rows in ([], [1], [1, 0]):
            changes += [replaced(place, value) for value in NONSENSE]  # the other rows are like these
        for change in changes:
            written(tmp_path / name, changed(DATA[name], change))
            refused += bool(outcome(tmp_path))
    assert refused > 100
