"""The voice factor comes from lines that match their text, and is found again when one of those changes."""

import re
import shutil
import tomllib
from pathlib import Path

import pytest
import tomli_w

from lipsync.align import line
from lipsync.align.settings import VoiceProfile
from lipsync.app.hear import voice_finding
from lipsync.app.hear.heard import Only
from lipsync.app.hear.hearing import hear
from lipsync.app.hear.voices import Voice, VoiceFound, Voices, VoiceTask, _write, known_voices
from lipsync.app.index.production_index import ProductionIndex
from lipsync.app.records import voice_records, voice_rows
from lipsync.errors import InputError
from lipsync.production.loading import open_production
from tests.app.conftest import Listener

SCENES = ("scenes/01-lamp-room.toml", "scenes/02-post-office.toml")


@pytest.fixture
def unheard(sample: Path) -> Path:
    shutil.rmtree(sample / "breakdowns")
    (sample / "voices.toml").unlink()
    return sample


def texts(folder: Path, *ids: str) -> tuple[str, ...]:
    known = {line.id: line.text for _, shot in open_production(folder).shots() for line in shot.line}
    return tuple(known[id] for id in ids)


def of_crab(listener: Listener, folder: Path) -> list[tuple[str, ...]]:
    """Return the groups of the crab's lines that a factor was asked from."""
    own = {line.text for _, shot in open_production(folder).shots() for line in shot.line if line.character == "crab"}
    return [group for group in listener.found if set(group) <= own]


def voice(folder: Path, character: str = "crab"):
    return next(one for one in voice_records(open_production(folder)) if one["character"] == character)


def amend(folder: Path, old: str, new: str) -> None:
    for name in SCENES:
        text = (folder / name).read_text(encoding="utf-8")
        (folder / name).write_text(text.replace(old, new), encoding="utf-8")


def test_it_is_found_from_the_first_lines_and_kept(unheard: Path, listener: Listener) -> None:
    hear(open_production(unheard))
    first = ["020-a", "020-c", "030-a", "030-b"]
    assert of_crab(listener, unheard) == [texts(unheard, *first)]
    assert voice(unheard) == {
        "character": "crab", "voice_factor": 1.1, "set_by": "lines", "found_from": first,
        "adapted_from": ["040-b", "040-d"], "passed_over": [],
    }  # fmt: skip
    listener.found.clear()
    hear(open_production(unheard))
    assert listener.found == []


def test_a_line_that_does_not_match_is_passed_over_and_the_next_takes_its_place(
    unheard: Path, listener: Listener
) -> None:
    listener.rejected = set(texts(unheard, "020-c"))
    listener.factors = [1.5, 1.2]
    hear(open_production(unheard))
    groups = of_crab(listener, unheard)
    first = ("020-a", "020-c", "030-a", "030-b")
    assert texts(unheard, *first) in groups
    last = groups[-1]
    assert texts(unheard, "020-c")[0] not in last
    assert last[:3] == texts(unheard, "020-a", "030-a", "030-b")
    assert len(last) == 4
    assert voice(unheard)["passed_over"] == ["020-c"]
    assert voice(unheard)["found_from"][:3] == ["020-a", "030-a", "030-b"]


def test_lines_that_a_person_has_checked_come_first_and_match(unheard: Path, listener: Listener) -> None:
    hear(open_production(unheard))
    (path,) = (unheard / "breakdowns").glob("*/040-b.toml")
    path.write_text(path.read_text(encoding="utf-8").replace("checked = false", "checked = true"), encoding="utf-8")
    (unheard / "voices.toml").unlink()
    listener.rejected = set(texts(unheard, "040-b", "020-c"))
    hear(open_production(unheard))
    assert voice(unheard)["found_from"] == ["040-b", "020-a", "030-a", "030-b"]
    assert voice(unheard)["passed_over"] == ["020-c"]


@pytest.mark.parametrize("changed", ["text", "recording"])
def test_a_line_that_was_checked_before_it_changed_is_tried_as_others(
    unheard: Path, listener: Listener, changed: str
) -> None:
    hear(open_production(unheard))
    (path,) = (unheard / "breakdowns").glob("*/040-b.toml")
    path.write_text(path.read_text(encoding="utf-8").replace("checked = false", "checked = true"), encoding="utf-8")
    (unheard / "voices.toml").unlink()
    if changed == "text":
        amend(unheard, texts(unheard, "040-b")[0], "Nothing of the kind is said here.")
    else:
        recordings = {line.id: line.recording for _, shot in open_production(unheard).shots() for line in shot.line}
        shutil.copy(unheard / recordings["020-a"], unheard / recordings["040-b"])
    hear(open_production(unheard))
    assert voice(unheard)["found_from"] == ["020-a", "020-c", "030-a", "030-b"]


@pytest.mark.parametrize("which", ["used", "passed over", "another"])
def test_it_is_found_again_when_a_line_of_its_own_changes(unheard: Path, listener: Listener, which: str) -> None:
    listener.rejected = set(texts(unheard, "020-c"))
    hear(open_production(unheard))
    listener.found.clear()
    changed = {"used": "020-a", "passed over": "020-c", "another": "010-a"}[which]
    (old,) = texts(unheard, changed)
    amend(unheard, old.replace('"', '\\"'), "Quite another thing.")
    hear(open_production(unheard))
    assert bool(of_crab(listener, unheard)) is (which != "another")
    assert ("020-c" in voice(unheard)["passed_over"]) is (which != "passed over")


@pytest.mark.parametrize("which", ["used", "passed over"])
def test_a_cue_more_changes_no_voice_but_may_make_a_line_match_that_was_passed_over(
    unheard: Path, listener: Listener, which: str
) -> None:
    listener.rejected = set(texts(unheard, "020-c"))
    hear(open_production(unheard))
    listener.found.clear()
    (old,) = texts(unheard, {"used": "020-a", "passed over": "020-c"}[which])
    amend(unheard, old, f"{old}! [breath]")
    hear(open_production(unheard))
    assert bool(of_crab(listener, unheard)) is (which == "passed over")
    assert ("020-c" in voice(unheard)["passed_over"]) is (which == "used")


def test_a_cue_between_words_is_a_pause_and_counts(unheard: Path, listener: Listener) -> None:
    hear(open_production(unheard))
    listener.found.clear()
    (old,) = texts(unheard, "020-a")
    amend(unheard, old, old.replace(" ", " [breath] ", 1))
    hear(open_production(unheard))
    assert of_crab(listener, unheard)


def test_where_no_line_matches_each_finds_its_own_and_it_is_not_sought_again(
    unheard: Path, listener: Listener
) -> None:
    production = open_production(unheard)
    listener.rejected = {line.text for _, shot in production.shots() for line in shot.line}
    hear(production)
    assert voice(unheard)["voice_factor"] is None
    assert voice(unheard)["found_from"] == []
    assert {factor for _, factor in listener.asked} >= {None}
    table = tomllib.loads((unheard / "voices.toml").read_text(encoding="utf-8"))
    assert "voice_factor" not in table["voices"]["crab"]
    listener.found.clear()
    listener.asked.clear()
    hear(open_production(unheard))
    assert (listener.found, listener.asked) == ([], [])


def test_a_missing_recording_is_passed_over_until_it_is_there(unheard: Path, listener: Listener) -> None:
    away = unheard / "away.wav"
    shutil.move(unheard / "recordings/020-a.wav", away)
    hear(open_production(unheard))
    assert "020-a" in voice(unheard)["passed_over"]
    listener.found.clear()
    hear(open_production(unheard))
    assert listener.found == []
    shutil.move(away, unheard / "recordings/020-a.wav")
    hear(open_production(unheard))
    assert voice(unheard)["found_from"][0] == "020-a"


def test_rows_of_numbers_are_read_as_the_form_before_had_them(unheard: Path, listener: Listener) -> None:
    production, path = open_production(unheard), unheard / "voices.toml"
    rows = tuple(tuple(tuple(round(s + r / 10 + c / 1e5, 5) for c in range(14)) for r in range(13)) for s in range(3))
    _write(path, {"crab": Voice(voice_factor=1.25, transform=rows)})
    assert known_voices(production)["crab"].transform == rows
    lists = tomllib.loads(path.read_text("utf-8"))
    assert lists["voices"]["crab"]["transform"][2][12].split()[13] == "3.20013"
    lists["voices"]["crab"]["transform"] = [[list(row) for row in stream] for stream in rows]
    path.write_text(tomli_w.dumps(lists | {"form": "lipsync voices 2"}), "utf-8")
    assert known_voices(production)["crab"].transform == rows
    lists["voices"]["crab"]["transform"][0][0] = "0.5 six"
    path.write_text(tomli_w.dumps(lists), "utf-8")
    with pytest.raises(InputError, match=r"'0\.5 six' is no row of numbers"):
        known_voices(production)


def test_the_form_before_is_read_and_found_again(unheard: Path, listener: Listener) -> None:
    old = 'form = "lipsync voices 1"\n[voices.crab]\nvoice_factor = 0.9\nfound_from = ["020-a"]\n'
    (unheard / "voices.toml").write_text(old, encoding="utf-8")
    assert voice(unheard)["found_from"] == ["020-a"]
    hear(open_production(unheard))
    assert voice(unheard)["voice_factor"] == 1.1
    assert tomllib.loads((unheard / "voices.toml").read_text())["form"] == "lipsync voices 3"


def test_a_factor_set_by_hand_is_shown_as_such_and_none_is_found(unheard: Path, listener: Listener) -> None:
    path = unheard / "production.toml"
    text = path.read_text(encoding="utf-8")
    path.write_text(text.replace("[characters.crab]", "[characters.crab]\nvoice_factor = 0.8", 1), encoding="utf-8")
    hear(open_production(unheard))
    assert of_crab(listener, unheard) == []
    (row,) = (row for row in voice_rows(open_production(unheard)) if row["character"] == "crab")
    assert (row["voice_factor"], row["set_by"], row["found_from"]) == ("0.8", "hand", "")


CRAB = ("020-a", "020-c", "030-a", "030-b", "040-b", "040-d")


@pytest.mark.parametrize(
    ("changed", "factor", "kept"),
    [
        (1, 1.13, 1.1),
        (1, 1.07, 1.1),
        (1, 1.14, 1.14),
        (1, 1.06, 1.06),
        (2, 1.12, 1.1),
        (3, 1.12, 1.12),
    ],
)
def test_a_voice_found_about_the_same_from_mostly_the_same_lines_is_not_learned_anew(
    unheard: Path, listener: Listener, changed: int, factor: float, kept: float
) -> None:
    """About the same is within 3 % (chosen); three of six lines are not most of them."""
    hear(open_production(unheard))
    for line_id in CRAB[:changed]:
        amend(unheard, texts(unheard, line_id)[0], f"Something else, {line_id.replace('-', ' ')}.")
    listener.profiled.clear()
    listener.factors = [factor]
    hear(open_production(unheard))
    assert voice(unheard)["voice_factor"] == kept
    assert bool(listener.profiled) is (kept != 1.1)
    listener.found.clear()
    hear(open_production(unheard))
    assert of_crab(listener, unheard) == []


def test_a_factor_set_by_hand_holds_however_near_it_is_to_the_one_found(unheard: Path, listener: Listener) -> None:
    hear(open_production(unheard))
    path = unheard / "production.toml"
    text = path.read_text(encoding="utf-8")
    path.write_text(text.replace("[characters.crab]", "[characters.crab]\nvoice_factor = 1.11", 1), encoding="utf-8")
    hear(open_production(unheard))
    assert dict(listener.asked)[texts(unheard, "020-a")[0]] == 1.11
    listener.asked.clear()
    listener.profiled.clear()
    hear(open_production(unheard))
    assert (listener.asked, listener.profiled) == ([], [])


def test_a_fault_in_one_line_of_the_voice_holds_up_no_other(
    unheard: Path, listener: Listener, monkeypatch: pytest.MonkeyPatch
) -> None:
    (broken,) = texts(unheard, "020-a")
    listen = listener.listen

    def thrown(recording, text, settings):
        if text == broken:
            raise ZeroDivisionError("no idea")
        return listen(recording, text, settings)

    monkeypatch.setattr(line, "listen_to", thrown)
    monkeypatch.setattr(listener, "listen", thrown)
    heard = hear(open_production(unheard))
    assert [(one.line, one.kind) for one in heard.report.problems] == [("020-a", "own fault")]
    assert len(heard.lines) == 10
    assert voice(unheard)["passed_over"] == ["020-a"]


def with_factor(folder: Path, line: str, value: str) -> None:
    amend(folder, f'id = "{line}"\n', f'id = "{line}"\nvoice_factor = {value}\n')


def test_a_line_of_its_own_voice_tells_nothing_of_its_character(unheard: Path, listener: Listener) -> None:
    with_factor(unheard, "020-a", "1.5")
    hear(open_production(unheard), Only(shot="020"))
    (own,) = texts(unheard, "020-a")
    assert dict(listener.asked)[own] == 1.5
    assert {factor for text, factor in listener.asked[-3:] if text != own} == {1.1}
    assert all(own not in group for group in listener.found)


def test_a_voice_that_was_found_meanwhile_is_kept_too(unheard: Path, listener: Listener) -> None:
    """Two listen at once: while the heron's voice is looked for, another run finds the crab's."""
    production = open_production(unheard)
    searched: list[str] = []

    def find(task: VoiceTask) -> VoiceFound:
        searched.append(str(task))
        if str(task) == "heron":
            Voices(production, find).of("crab")
        return VoiceFound(VoiceProfile(1.25 if str(task) == "heron" else 1.32), task.candidates, (), ())

    assert Voices(production, find).of("heron") == VoiceProfile(1.25)
    assert {name: one.profile for name, one in known_voices(production).items()} == {
        "heron": VoiceProfile(1.25), "crab": VoiceProfile(1.32),
    }  # fmt: skip
    assert Voices(production, find).of("crab") == VoiceProfile(1.32)
    assert searched == ["heron", "crab"]


def test_how_a_line_fits_at_factors_is_kept_until_it_changes(unheard: Path, listener: Listener) -> None:
    tasks: list[VoiceTask] = []
    fits = {1.0: (-500, 90), 1.08: None}

    def find(task: VoiceTask) -> VoiceFound:
        tasks.append(task)
        used = task.candidates[:2]
        return VoiceFound(VoiceProfile(1.1), used, (), task.candidates[2:], {one.key: fits for one in used})

    for change in ("", texts(unheard, "020-a")[0]):
        if change:
            amend(unheard, change, "Something else.")
        with ProductionIndex(unheard) as index:
            Voices(open_production(unheard), find, index=index).of("crab")
    first, second = ({key: dict(known) for key, known in task.fits.items() if known} for task in tasks)
    kept = [one.key for one in tasks[0].candidates[:2]]
    assert first == {}
    assert second == {kept[1]: fits}


def test_lines_of_cues_alone_are_not_read_to_find_a_voice(
    unheard: Path, listener: Listener, monkeypatch: pytest.MonkeyPatch
) -> None:
    scene = unheard / SCENES[0]
    scene.write_text(re.sub(r'(?m)^text = ".*"$', 'text = "[laugh]"', scene.read_text("utf-8")), "utf-8")
    read: list[str] = []
    real = voice_finding.recording_of
    monkeypatch.setattr(voice_finding, "recording_of", lambda p, one, *_: read.append(one.line.text) or real(p, one))
    hear(open_production(unheard))
    assert read
    assert "[laugh]" not in read


@pytest.mark.parametrize("value", ["0.4", "2.1", '"high"', "nan", "50"])
def test_a_factor_outside_sense(unheard: Path, value: str) -> None:
    with_factor(unheard, "010-a", value)
    found = value.replace('"', "'")
    with pytest.raises(InputError, match=rf'01-lamp-room\.toml: .*"010-a" voice_factor: found {found}; ') as caught:
        open_production(unheard)
    assert len(caught.value.problems) == 1


def test_a_cue_nobody_knows(unheard: Path, listener: Listener) -> None:
    scene = unheard / SCENES[0]
    scene.write_text(scene.read_text("utf-8").replace('text = "', 'text = "[yodel] ', 1), "utf-8")
    problems = map(str, hear(open_production(unheard), Only(shot="010")).report.problems)
    (told,) = (problem for problem in problems if "yodel" in problem)
    assert "01-lamp-room.toml" in told
    assert "text: [yodel] is no cue of the character's mouth set; it has breath" in told
