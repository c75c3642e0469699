"""Another mouth set or other settings beside the present ones: what is told, and what it must agree with."""

import csv
import json
from collections import defaultdict
from dataclasses import replace

import pytest

from lipsync.app.decide.trying import Trial, try_other
from lipsync.app.hear.heard import Only, kept_path, lines_of
from lipsync.app.hear.hearing import hear
from lipsync.app.plan.planning import plan
from lipsync.breakdown.breakdown_file import read, write
from lipsync.breakdown.corrections import PieceChoice
from lipsync.errors import ExitCode, InputError
from lipsync.fit.fit_settings import FittingSettings, Holds
from lipsync.fit.lips import ALIKE, distance
from lipsync.fit.mouthset import load_mouth_set
from lipsync.model import Cue
from lipsync.production.loading import open_production
from lipsync.production.values import shipped
from tests.running import run


@pytest.fixture(scope="module")
def tried(heard_sample, tmp_path_factory):
    """The heron in the crab's mouths, by the command."""
    out = tmp_path_factory.mktemp("tried")
    done = run(
        "side-by-side", heard_sample, "02-post-office", "--mouth-set", "heron=driftwood", "--out", out, "--json"
    )
    assert (done.code, done.err) == (ExitCode.DONE, "")
    with (out / "side-by-side-02-post-office-heron-driftwood.csv").open(encoding="utf-8-sig", newline="") as file:
        return json.loads(done.out), list(csv.DictReader(file))


def test_present_is_the_plan(tried, tracks) -> None:
    answer, differences = tried
    here = [row for row in tracks if row["scene"] == "02-post-office"]
    worn = {(row["shot"], row["character"], row["frame"]): row["piece"] for row in here}
    assert answer["frames"] == sum(bool(code) for code in worn.values())
    assert answer["present"]["fittings"] == sum(row["fitted"] == "1" for row in here)
    pieces = defaultdict(set)
    for (_, who, _), code in worn.items():
        if code:
            pieces[who].add(code)
    # Two herons, one crab.
    assert answer["present"]["pieces_needed"] == {"heron": 2 * len(pieces["heron"]), "crab": len(pieces["crab"])}
    for row in differences:
        assert worn[row["shot"], row["character"], row["frame"]] == row["present"]
    # A code that both sets have may name another mouth in each: the lips of the two then differ by more than the eye
    # takes for one.
    sets = [load_mouth_set(shipped("mouthsets") / f"{name}.toml").by_code for name in ("tideline", "driftwood")]
    both = {row["present"] for row in differences if row["present"] == row["tried"]}
    assert both == {code for code in both if distance(*(one[code].lips for one in sets)) >= ALIKE} != set()


def test_differences_are_counted_and_are_the_herons(tried) -> None:
    answer, differences = tried
    assert answer["frames_that_differ"] == len(differences) > 0
    assert len({(row["shot"], row["frame"]) for row in differences}) == len(differences)
    assert {row["character"] for row in differences} == {"heron"}
    # Eight pieces for fourteen: measured by what the full set asks for, it looks worse; by its own, better.
    assert answer["tried"]["visual_cost"] > answer["present"]["visual_cost"]
    assert answer["tried"]["visual_cost_by_tried"] < answer["present"]["visual_cost_by_tried"]
    assert answer["present"]["not_seen"] == answer["tried"]["not_seen"] == 0


def test_the_same_set_again_changes_nothing(production, heard) -> None:
    found, _ = try_other(production, heard, Trial("01-lamp-room", {"heron": "tideline"}))
    assert found.differences == ()
    assert found.record["present"] == found.record["tried"]
    assert found.record["mean_distance"] == 0


def test_settings_are_tried_from_a_file(production, heard, tmp_path) -> None:
    file = tmp_path / "other.toml"
    file.write_text('[fitting]\non = "twos"\n[fitting.price]\nfitting = 2.0\n', encoding="utf-8")
    found, said = try_other(production, heard, Trial("02-post-office", {}, file))
    assert said.messages == ()
    assert found.both.other.fittings < found.both.one.fittings
    for track in found.both.other.tracks:
        seen = [frame for frame, code in enumerate(track.pieces) if code is not None]
        changed = [f for f in seen if f and track.pieces[f - 1] not in (None, track.pieces[f])]
        assert changed
        assert all(frame % 2 == 0 for frame in changed)


def test_a_sets_own_settings_stand_before_those_tried(production, heard, tmp_path) -> None:
    file = tmp_path / "other.toml"
    file.write_text('[fitting]\non = "twos"\n', encoding="utf-8")
    own = production.mouth_sets["crab"].model_copy(update={"fitting": production.file.fitting})
    changed = replace(production, mouth_sets={**production.mouth_sets, "crab": own})
    _, said = try_other(changed, heard, Trial("02-post-office", {}, file))
    assert [*map(str, said.messages)] == [
        f"{file}: the mouth set Driftwood has settings of its own, which overrule these"
    ]


def with_set(production, folder, name, text):
    """The production with a mouth set of its own beside it."""
    (folder / "mouthsets").mkdir()
    (folder / "mouthsets" / f"{name}.toml").write_text(text, encoding="utf-8")
    return replace(production, folder=folder)


def test_what_it_rests_on_follows_the_set(production, heard, tmp_path) -> None:
    """The crab rests on `slot` in shot 040; a set that has none rests on its own rest."""
    text = (shipped("mouthsets") / "driftwood.toml").read_text(encoding="utf-8")
    changed = with_set(production, tmp_path, "narrow", text.replace('"slot"', '"gap"'))
    found, _ = try_other(changed, heard, Trial("02-post-office", {"crab": "narrow"}))
    present, tried = (
        next(t.pieces for t in side.tracks if t.character == "crab" and len(t.pieces) == 300)
        for side in (found.both.one, found.both.other)
    )
    assert (present[0], tried[0]) == ("SLOT", "REST")


def test_a_cue_without_a_shape_is_named(production, heard, tmp_path) -> None:
    """A studio's own cue, beside the six that every set has."""
    text = (shipped("mouthsets") / "tideline.toml").read_text(encoding="utf-8")
    changed = with_set(production, tmp_path, "solemn", text)
    lines = []
    for line in heard.lines:
        computed = line.kept.computed
        parts = tuple(replace(p, name="croak") if isinstance(p, Cue) else p for p in computed.parts)
        lines.append(replace(line, kept=replace(line.kept, computed=replace(computed, parts=parts))))
    own = {**production.mouth_sets["heron"].cues, "croak": "open"}
    croaking = production.mouth_sets["heron"].model_copy(update={"cues": own})
    changed = replace(changed, mouth_sets={**changed.mouth_sets, "heron": croaking})
    with pytest.raises(InputError, match=r"--mouth-set heron=solemn: has no shape for \[croak\], which heron"):
        try_other(changed, replace(heard, lines=tuple(lines)), Trial("02-post-office", {"heron": "solemn"}))


@pytest.mark.parametrize(
    ("options", "message"),
    [
        ((), "say what to try: --mouth-set CHARACTER=NAME, or --fitting FILE with a [fitting] table, or both"),
        (("--mouth-set", "heron"), "--mouth-set heron: write a character and a mouth set, such as heron=tideline"),
        (("--mouth-set", "gull=tideline"), "there is no character 'gull'; the characters are heron, crab"),
        (("--mouth-set", "heron=gull"), "nor one of those that ship (driftwood, tideline)"),
        (("--fitting", "nowhere.toml"), "nowhere.toml: there is no such file; check its name and folder"),
    ],
)
def test_what_cannot_be_tried(heard_sample, options, message) -> None:
    done = run("side-by-side", heard_sample, "02-post-office", *options)
    assert (done.code, done.out) == (ExitCode.INPUT, "")
    assert done.err.endswith(f"{message}\n")


def test_settings_that_cannot_be_are_named(production, heard, tmp_path) -> None:
    file = tmp_path / "other.toml"
    file.write_text("[fitting.price]\nfitting = -1.0\n", encoding="utf-8")
    with pytest.raises(InputError, match=r"other.toml: \[fitting\] \[price\] fitting: found -1.0; 0 or more is"):
        try_other(production, heard, Trial("02-post-office", {}, file))


def test_pieces_put_by_hand_that_are_gone_are_told_and_passed_over(sample) -> None:
    production = open_production(sample)
    (placed,) = (one for one in lines_of(production, Only()) if one.line.id == "010-a")
    path = kept_path(production, placed)
    mouth_set = production.mouth_sets["heron"]
    choices = (
        PieceChoice(20, "OPEN3"),
        PieceChoice(30, "GONE"),
        PieceChoice(31, "GONE", forbidden=True),
        PieceChoice(9999, "OPEN1"),
        *(PieceChoice(40, code, forbidden=True) for code in mouth_set.by_code),
    )
    write(path, replace(read(path), pieces=choices))
    plans = plan(production, hear(production), Only(None, "010"))
    assert plans.report.problems == ()
    told = [text.partition('[[line]] "010-a": ')[2] for text in map(str, plans.report.messages)]
    assert [text for text in told if "by hand" in text] == [
        "GONE was put on frame 31 by hand, but its mouth set has no GONE; it is passed over",
        "GONE was kept off frame 32 by hand, but its mouth set has no GONE; it is passed over",
        "OPEN1 was put on frame 10000 by hand, but the shot has 192 frames; it is passed over",
    ]
    assert plans.shots[0].cast[0].track.pieces[20] == "OPEN3"


def test_two_sets_for_one_character_are_refused(heard_sample) -> None:
    done = run("side-by-side", heard_sample, "02-post-office", *["--mouth-set", "heron=driftwood"] * 2)
    assert done.code == ExitCode.INPUT
    assert done.err.endswith(
        "--mouth-set heron=driftwood: heron is tried in driftwood already; try one set at a time\n"
    )


def test_a_name_too_long_for_a_disk_is_a_set_that_is_not_there(heard_sample) -> None:
    done = run("side-by-side", heard_sample, "02-post-office", "--mouth-set", f"heron={'a' * 300}")
    assert (done.code, done.out) == (ExitCode.INPUT, "")
    assert done.err.endswith("nor one of those that ship (driftwood, tideline)\n")


def test_settings_that_do_not_go_with_the_productions_are_named(production, heard, tmp_path) -> None:
    file = tmp_path / "other.toml"
    file.write_text("[fitting.hold]\nshortest = 8\n", encoding="utf-8")
    hasty = production.file.model_copy(update={"fitting": FittingSettings(hold=Holds(longest=6))})
    text = r"other.toml: \[fitting\] \[hold\]: with those of the production: shortest: found 8, above longest"
    with pytest.raises(InputError, match=text):
        try_other(replace(production, file=hasty), heard, Trial("02-post-office", {}, file))
