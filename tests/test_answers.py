"""What commands answer with --json: each answer is of its documented form, refusals too, and lists are lists.

The schemas are held against what the commands print by jsonschema-rs 0.60 (JSON Schema draft 2020-12), which knows
nothing of the models they are made from.
"""

import json
from pathlib import Path
from typing import Any

import jsonschema_rs
import pytest
from make_schemas import FOLDER, schemas

from lipsync.app.answers import FORMS, form_of
from lipsync.app.cli import GROUPS
from lipsync.errors import ExitCode
from tests.running import Ran, run

# Commands with what they are asked; {} is the sample production, with short shots.
ASKED: dict[str, tuple[str, ...]] = {
    "breakdown": ("{}", "--shot", "020", "--textgrid"),
    "sheet": ("{}", "--shot", "020"),
    "count": ("{}",),
    "why": ("{}", "040", "20"),
    "chart": ("{}",),
    "labels": ("{}", "--for", "boxes", "--first", "3"),
    "boards": ("{}", "--puppet", "heron-2"),
    "order": ("{}",),
    "weigh": ("{}", "01-lamp-room"),
    "worth": ("{}", "crab"),
    "side-by-side": ("{}", "01-lamp-room", "--mouth-set", "heron=driftwood"),
    "lock": ("{}", "020", "--upto", "12", "--wore", "3=heron:SHUT"),
    "unlock": ("{}", "020", "--from", "11", "--to", "12"),
    "refilm": ("{}", "020", "--from", "9", "--to", "10", "--reason", "the lamp fell over"),
    "filmed": ("{}",),
    "compare": ("{}", "020"),
    "packet": ("{}", "--shot", "010"),
    "overview": ("{}", "--page"),
    "preview": ("{}", "--shot", "050", "--form", "webm"),
    "give": ("{}", "--as", "list"),
    "stock": ("{}", "{}/shelf.csv", "--dry-run"),
    "take": ("{}", "{}/given/01-lamp-room.csv", "--dry-run"),
}
# Of these only the first form is asked for above.
SAME_FORM = {"unlock": "lock", "refilm": "lock"}
# Forms that have changed since the first.
VERSIONS = {"count": 2, "order": 4, "worth": 2}


def form_named(command: str) -> str:
    """Return the form in which a command answers."""
    return f"lipsync {SAME_FORM.get(command, command)} answer {VERSIONS.get(command, 1)}"


def told(done: Ran) -> dict[str, Any]:
    """Return an answer, which must be of the form that it names."""
    answer = json.loads(done.out)
    file = FOLDER / f"{answer['form'].removeprefix('lipsync ').replace(' ', '-')}.schema.json"
    jsonschema_rs.Draft202012Validator(json.loads(file.read_text("utf-8"))).validate(answer)
    return answer


def asked(command: str, sample: Path) -> Ran:
    return run(command, *(text.format(sample) for text in ASKED[command]), "--json")


def test_the_schemas_are_of_today() -> None:
    """`python tests/make_schemas.py` makes them again."""
    assert {path.name: path.read_text("utf-8") for path in FOLDER.glob("*.json")} == schemas()


def test_every_command_that_answers_in_json_is_asked_below() -> None:
    names = {
        c.__name__.replace("_", "-") for group in GROUPS for c in group.COMMANDS if "as_json" in c.__annotations__
    }
    assert names == {*ASKED, "check-print", "check"}
    forms = {form_named(name) for name in names}
    assert forms | {"lipsync refusal 1"} == {form_of(answer) for answer in FORMS}


def test_each_answer_is_of_its_form(with_short_shots: Path) -> None:
    sample = with_short_shots
    (sample / "shelf.csv").write_text("character,piece,there is\nheron,REST,2\n", "utf-8")
    for command in ASKED:
        done = asked(command, sample)
        assert done.code == ExitCode.DONE, (command, done.err)
        answer = told(done)
        assert answer["form"] == form_named(command)
        assert answer["not_done"] == []
    # The prints and locks above are what these two speak of.
    compared = told(run("compare", sample, "020", "--json"))
    assert compared["before"]["state"] == "revision A"
    checked = told(run("check-print", sample, compared["before"]["stamp"], "--json"))
    assert (checked["shot"], checked["good"]) == ("020", not compared["changes"])


def test_lists_are_lists(sample: Path) -> None:
    pieces = told(asked("count", sample))["pieces"]
    assert ["01-lamp-room", "02-post-office"] in [row["scenes"] for row in pieces]
    order = told(asked("order", sample))
    assert {board for row in order["pieces"] for board in row["boards"]} == {*order["boards"]}
    worth = told(asked("worth", sample))["rows"]
    assert [len(row["codes"]) for row in worth] == [row["pieces"] for row in worth]
    assert worth[-1]["next_brings"] is None


def test_what_is_to_be_known_is_told_with_what_it_is_about(sample: Path) -> None:
    scene = sample / "scenes/01-lamp-room.toml"
    scene.write_text(scene.read_text("utf-8").replace("frames = 192", "frames = 110", 1), "utf-8")
    done = run("sheet", sample, "--shot", "010", "--json")
    messages = [one for one in told(done)["messages"] if one["kind"] == "ends after its shot"]
    assert messages
    for one in messages:
        assert (one["scene"], one["shot"], one["line"][:4]) == ("01-lamp-room", "010", "010-")
        assert one["file"] == str(scene)
        assert one["remedy"] == "lengthen the shot or let the line begin earlier"
        assert one["text"] == f"{one['what']}; {one['remedy']}"
        assert f"{one['file']}: {one['place']}: {one['text']}" in done.err


def test_lines_that_were_not_done_stand_in_the_answer(lacking: Path) -> None:
    done = run("count", lacking, "--json")
    assert done.code == ExitCode.PARTLY
    (problem,) = told(done)["not_done"]
    assert (problem["scene"], problem["shot"], problem["line"]) == ("01-lamp-room", "020", "020-c")
    assert problem["text"] in done.err


@pytest.mark.parametrize("command", [*ASKED, "check-print"])
def test_a_refusal_is_an_answer_too(tmp_path: Path, command: str) -> None:
    """Without a production nothing can be done: exit code 3, and the reason in words and for programs."""
    arguments = ASKED.get(command, ("{}", "ABC-DE-FGH"))
    done = run(command, *(text.format(tmp_path / "nowhere") for text in arguments), "--json")
    assert done.code == ExitCode.INPUT
    answer = told(done)
    assert (answer["form"], answer["exit_code"]) == ("lipsync refusal 1", 3)
    (problem,) = answer["not_done"]
    assert done.err == f"{problem['file']}: {problem['text']}\n"


def test_a_shot_that_cannot_be_planned_is_refused_with_code_4(sample: Path) -> None:
    assert run("sheet", sample, "--shot", "020").code == ExitCode.DONE
    assert run("lock", sample, "020", "--upto", "150").code == ExitCode.DONE
    scene = sample / "scenes/01-lamp-room.toml"
    head, shot, rest = scene.read_text("utf-8").partition('id = "020"')
    scene.write_text(head + shot + rest.replace("frames = 192", "frames = 145", 1), "utf-8")
    done = run("compare", sample, "020", "--json")
    assert done.code == ExitCode.PARTLY, done.err
    answer = told(done)
    assert (answer["form"], answer["exit_code"]) == ("lipsync refusal 1", 4)
    assert [one["kind"] for one in answer["not_done"]] == ["shorter than filmed"]
    assert answer["not_done"][0]["shot"] == "020"


def test_a_file_that_cannot_be_written_is_a_refusal_with_code_5(sample: Path) -> None:
    (sample / "sheets").write_text("a file stands here")
    done = run("chart", sample, "--json")
    assert done.code == ExitCode.OUTPUT
    assert told(done)["exit_code"] == 5


def test_the_schemas_refuse_what_is_not_of_the_form(sample: Path) -> None:
    answer = told(asked("count", sample))
    file = FOLDER / f"{form_named('count').removeprefix('lipsync ').replace(' ', '-')}.schema.json"
    schema = jsonschema_rs.Draft202012Validator(json.loads(file.read_text("utf-8")))
    pieces = answer["pieces"]
    for broken in (
        {**answer, "form": "lipsync count answer 1"},
        {key: value for key, value in answer.items() if key != "not_done"},
        {**answer, "more": 1},
        {**answer, "pieces": [{**pieces[0], "scenes": "01-lamp-room 02-post-office"}]},
    ):
        assert not schema.is_valid(broken)
