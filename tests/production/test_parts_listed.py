"""`[[shot.part]]` in a scene's file: what it may say, and every fault of it in one go."""

import shutil

import pytest

from lipsync.errors import InputError
from lipsync.production.loading import open_production
from lipsync.production.values import shipped
from lipsync.track import PartWorn

PART = '[[shot.part]]\nkind = "{}"\ncharacter = "{}"\ncode = "{}"\nframes = {}\n\n'


@pytest.fixture
def folder(tmp_path):
    shutil.copytree(shipped("sample_audio"), tmp_path / "post")
    return tmp_path / "post"


def listed(folder, *parts):
    """List parts in shot 010, behind its lines."""
    path = folder / "scenes/01-lamp-room.toml"
    text = path.read_text(encoding="utf-8")
    head, mark, tail = text.partition("# The crab climbs in.")
    assert mark
    path.write_text(head + "".join(PART.format(*part) for part in parts) + mark + tail, encoding="utf-8")


def test_parts_are_read_in_frames_from_0_in_their_order(folder):
    listed(folder, ("head", "heron", "HDSIDE", [40, 192]), ("brows", "heron", "BRUP", [1, 1]))
    production = open_production(folder)
    ((_, shot),) = production.shots(shot="010")
    assert production.parts_of("heron", shot) == (
        PartWorn("brows", "BRUP", 0, 0),
        PartWorn("head", "HDSIDE", 39, 191),
    )
    assert production.parts_of("crab", shot) == ()
    assert production.part_codes == {"heron": {"HDSIDE": "head", "BRUP": "brows"}, "crab": {}}


def test_each_fault_has_its_sentence_all_in_one_go(folder):
    listed(
        folder,
        ("brows", "heron", "BRUP", [1, 10]),
        ("brows", "heron", "BRDN", [10, 20]),
        ("lids", "heron", "LIDS", [180, 193]),
        ("lids", "heron", "LIDS", [30, 20]),
        ("head", "gull", "HDUP", [1, 2]),
        ("head", "crab", "HDUP", [1, 2]),
        ("tail", "heron", "TAIL", [1, 2]),
        ("eyes", "heron", "REST", [1, 2]),
        ("hands", "heron", "much too long", [1, 2]),
    )
    with pytest.raises(InputError) as caught:
        open_production(folder)
    told = [str(problem) for problem in caught.value.problems]
    for place, text in (
        ("[[part]] 1 and 2 frames", "both are brows of heron on frame 10; let one end before the other begins"),
        ("[[part]] 3 frames", "found [180, 193]; frames of this shot are 1 to 192, first before last"),
        ("[[part]] 4 frames", "found [30, 20]; frames of this shot are 1 to 192, first before last"),
        ("[[part]] 5 character", "'gull' is no character of the production; the characters are heron, crab"),
        ("[[part]] 6 character", "'crab' is not in this shot; name it under [shot.characters]"),
        ("[[part]] 7", "found 'tail'; allowed are 'brows', 'lids', 'eyes', 'hands', 'head' or 'body'"),
        ("[[part]] 8", "'REST' is a piece of the mouth set too; give the part a code of its own"),
        ("[[part]] 9", "'much too long' is no code; write up to six letters and digits"),
    ):
        assert sum(place in one and text in one for one in told) == 1, (place, told)
    assert len(told) == 8


def test_the_plan_the_figures_and_the_stock_may_name_parts(folder):
    listed(folder, ("brows", "heron", "BRUP", [1, 10]))
    with (folder / "production.toml").open("a", encoding="utf-8") as file:
        file.write('\n[[shooting.piece]]\ncharacter = "heron"\ncode = "BRUP"\nspares = 3\n')
    (folder / "stock.toml").write_text(
        'counted = 2026-11-29\n[[piece]]\ncharacter = "heron"\ncode = "BRUP"\nthere = 1\n', encoding="utf-8"
    )
    assert open_production(folder).file.shooting.spares_of("heron", "BRUP") == 3
    with (folder / "production.toml").open("a", encoding="utf-8") as file:
        file.write('\n[[making.piece]]\ncharacter = "heron"\ncode = "BRUP"\nminutes_a_pressing = 45\n')
    assert open_production(folder).file.making.figures_of("heron", "BRUP", "clay").minutes_a_pressing == 45
    (folder / "stock.toml").write_text(
        'counted = 2026-11-29\n[[piece]]\ncharacter = "heron"\ncode = "BRDN"\nthere = 1\n', encoding="utf-8"
    )
    with pytest.raises(InputError, match="heron has no piece 'BRDN'"):
        open_production(folder)
