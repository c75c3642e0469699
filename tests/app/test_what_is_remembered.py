"""What is known of a line is remembered, also that it could not be done; a question is told of what it asked."""

import shutil
from pathlib import Path

import pytest

from lipsync.app.amend.amending import import_textgrid
from lipsync.app.hear.heard import Only
from lipsync.app.hear.hearing import hear
from lipsync.app.records import line_record, line_rows
from lipsync.app.renew.renewing import hear_and_plan
from lipsync.breakdown import breakdown_file
from lipsync.breakdown.textgrid import to_textgrid
from lipsync.errors import InputError
from lipsync.model import Rejection, UntoldVoice
from lipsync.production.loading import open_production
from tests.app.conftest import Listener

SCENE, ROOM = "scenes/01-lamp-room.toml", "01-lamp-room"
FOOT = "Oops. My foot is blue."


@pytest.fixture
def unheard(sample: Path) -> Path:
    """The sample before anybody has listened."""
    shutil.rmtree(sample / "breakdowns")
    (sample / "voices.toml").unlink()
    return sample


def write(folder: Path, old: str, new: str, file: str = SCENE) -> None:
    text = (folder / file).read_text(encoding="utf-8")
    assert text.count(old) == 1
    (folder / file).write_text(text.replace(old, new), encoding="utf-8")


def heard_again(folder: Path, listener: Listener, only: Only | None = None):
    """Return what is heard, and the texts that were listened to for it."""
    listener.asked.clear()
    heard = hear(open_production(folder), only)
    return heard, sorted(listener.texts)


def test_a_line_that_does_not_match_is_laid_told_and_listened_to_once(unheard: Path, listener: Listener) -> None:
    listener.rejected = {FOOT}
    heard, _ = heard_again(unheard, listener)
    assert heard.report.problems == ()
    (told,) = (one for one in heard.report.messages if one.line == "020-c")
    assert told.kind == "all doubtful"
    assert "not what is said in the recording" in told.text
    assert len(heard.lines) == 11
    again, asked = heard_again(unheard, listener)
    assert asked == []
    assert [one for one in again.report.messages if one.line == "020-c"] == [told]


@pytest.mark.parametrize("what", ["text", "in point", "voice factor", "recording", "pronunciation"])
def test_it_is_listened_to_again_when_what_it_depends_on_changes(
    unheard: Path, listener: Listener, what: str
) -> None:
    listener.refused = {FOOT}
    heard, _ = heard_again(unheard, listener, Only(ROOM))
    (problem,) = heard.report.problems
    assert (problem.line, problem.kind) == ("020-c", "rejection: too fast")
    assert heard_again(unheard, listener, Only(ROOM))[1] == []
    text = FOOT
    if what == "text":
        write(unheard, FOOT, text := "Oops. My foot is green.")
    elif what == "in point":
        write(unheard, f'text = "{FOOT}"', f'in = 0.01\ntext = "{FOOT}"')
    elif what == "voice factor":
        write(unheard, f'text = "{FOOT}"', f'voice_factor = 1.3\ntext = "{FOOT}"')
    elif what == "recording":
        shutil.copy(unheard / "recordings/020-a.wav", unheard / "recordings/020-c.wav")
    else:
        write(unheard, "[pronunciations]", '[pronunciations]\noops = "UH1 P S"', "production.toml")
    listener.refused = set()
    heard, asked = heard_again(unheard, listener, Only(ROOM))
    assert text in asked
    assert heard.report.problems == ()


def test_a_text_that_cannot_be_read_is_kept_and_told_by_its_own_sentence(unheard: Path, listener: Listener) -> None:
    write(unheard, FOOT, "灯台 はどこ")
    listener.refused = {"灯台 はどこ"}
    for run in range(2):
        heard, asked = heard_again(unheard, listener, Only(ROOM))
        assert ("灯台 はどこ" in asked) is (run == 0)
        (problem,) = heard.report.problems
        assert problem.line == "020-c"
        assert "灯台" in problem.text
    kept = breakdown_file.read(unheard / "breakdowns" / ROOM / "020-c.toml")
    assert (kept.computed.rejection, kept.computed.parts, kept.undone) == (Rejection.NOT_READ, (), True)


def test_a_shot_is_told_of_its_own_lines_only(unheard: Path, listener: Listener) -> None:
    listener.refused = {FOOT}
    about_text = {"all doubtful", "rejection: too fast"}
    texts = {line.id: line.text for _, shot in open_production(unheard).shots() for line in shot.line}
    listener.rejected = {texts["010-a"]}
    production = open_production(unheard)
    for only, lines, problems in (
        (Only(None, "040"), set(), set()),
        (Only(None, "010"), {"010-a"}, set()),
        (Only(None, "020"), {"020-c"}, {"020-c"}),
        (Only("02-post-office"), set(), set()),
        (Only(), {"010-a", "020-c"}, {"020-c"}),
    ):
        report = hear_and_plan(production, only).report
        assert {one.line for one in (*report.problems, *report.messages) if one.kind in about_text} == lines
        assert {one.line for one in report.problems} == problems


def test_lines_in_the_way_of_one_another_are_told_of_the_shot_asked_for(sample: Path) -> None:
    write(sample, 'id = "020-c"', 'id = "020-c" # moved')
    text = (sample / SCENE).read_text(encoding="utf-8")
    (sample / SCENE).write_text(text.replace("begins = 140", "begins = 1"), encoding="utf-8")
    production = open_production(sample)
    assert hear_and_plan(production, Only(None, "010")).report.problems == ()
    assert [one.shot for one in hear_and_plan(production, Only(None, "020")).report.problems] == ["020"]


def test_voice_without_text_is_kept_told_and_on_the_record(unheard: Path, listener: Listener) -> None:
    listener.untold = {FOOT: (UntoldVoice(0, 9_000),)}
    heard, _ = heard_again(unheard, listener, Only(ROOM))
    (line,) = (line for line in heard.lines if line.placed.line.id == "020-c")
    assert line_record(line)["voice_without_text"] == [{"start_s": 0.0, "end_s": 0.009}]
    assert line_rows([line.placed], [line])[0]["voice_without_text"] == "0.000 to 0.009 s"
    (told,) = (one for one in heard.report.messages if one.line == "020-c")
    assert told.kind == "voice without text"
    again, asked = heard_again(unheard, listener, Only(ROOM))
    assert asked == []
    assert [one.kept.breakdown.voice_without_text for one in again.lines if one.placed.line.id == "020-c"] == [
        (UntoldVoice(0, 9_000),)
    ]


def placed_by_hand(folder: Path, sample: Path) -> Path:
    """Return a TextGrid that a person made of a line that nobody has listened to."""
    kept = breakdown_file.read(sample / "breakdowns" / ROOM / "020-c.toml")
    path = folder / "020-c.TextGrid"
    path.write_text(to_textgrid(kept.breakdown), encoding="utf-8")
    return path


@pytest.mark.parametrize("state", ["unheard", "refused", "rejected", "other language"])
def test_a_textgrid_is_taken_for_any_line_and_stays(
    unheard: Path, heard_sample: Path, listener: Listener, tmp_path: Path, state: str
) -> None:
    if state == "refused":
        listener.refused = {FOOT}
    if state == "rejected":
        listener.rejected = {FOOT}
    if state == "other language":
        write(unheard, FOOT, "うみ は あおい")
        listener.refused = {"うみ は あおい"}
    if state != "unheard":
        hear(open_production(unheard), Only(ROOM))
    grid = placed_by_hand(tmp_path, heard_sample)
    import_textgrid(open_production(unheard), grid)
    listener.asked.clear()
    for _ in range(2):
        heard = hear(open_production(unheard), Only(ROOM))
        (line,) = (line for line in heard.lines if line.placed.line.id == "020-c")
        stands = line.kept.breakdown
        assert [word.text for word in stands.words] == ["Oops", "My", "foot", "is", "blue"]
        assert stands.rejection is None
        assert not any(word.doubtful for word in stands.words)
        assert all(p.level_db is not None for word in stands.words for p in word.phonemes)
        assert [one for one in (*heard.report.problems, *heard.report.messages) if one.line == "020-c"] == []


def test_words_placed_by_hand_are_not_computed_over_also_when_asked(
    unheard: Path, heard_sample: Path, listener: Listener, tmp_path: Path
) -> None:
    import_textgrid(open_production(unheard), placed_by_hand(tmp_path, heard_sample))
    heard = hear(open_production(unheard), Only(ROOM), again=True)
    (line,) = (line for line in heard.lines if line.placed.line.id == "020-c")
    assert [word.text for word in line.kept.breakdown.words] == ["Oops", "My", "foot", "is", "blue"]
    assert line.kept.newer is not None
    assert [word.text for word in line.kept.newer.breakdown.words] == ["Oops."]


def test_a_textgrid_of_another_sound_is_a_fault_of_its_file(
    unheard: Path, heard_sample: Path, tmp_path: Path
) -> None:
    kept = breakdown_file.read(heard_sample / "breakdowns" / ROOM / "020-a.toml")
    path = tmp_path / "020-c.TextGrid"
    path.write_text(to_textgrid(kept.breakdown), encoding="utf-8")
    with pytest.raises(InputError, match="of another recording"):
        import_textgrid(open_production(unheard), path)
    assert not (unheard / "breakdowns").exists()


def test_a_textgrid_for_a_recording_that_changed_meanwhile(
    unheard: Path, heard_sample: Path, listener, tmp_path
) -> None:
    """Nobody had touched the line: what was computed of the old sound is in nobody's way."""
    shutil.copy(unheard / "recordings/020-a.wav", unheard / "recordings/old.wav")
    write(unheard, "recordings/020-c.wav", "recordings/old.wav")
    hear(open_production(unheard), Only(ROOM))
    write(unheard, "recordings/old.wav", "recordings/020-c.wav")
    import_textgrid(open_production(unheard), placed_by_hand(tmp_path, heard_sample))
    kept = breakdown_file.read(unheard / "breakdowns" / ROOM / "020-c.toml")
    assert [word.text for word in kept.breakdown.words] == ["Oops", "My", "foot", "is", "blue"]
