"""Why a frame wears its piece: the command's words, and what they must agree with."""

import json
import re

import pytest

from lipsync.app.decide.explaining import Asked, why_frame
from lipsync.errors import ExitCode, InputError
from tests.running import run


@pytest.fixture(scope="module")
def worn(plans):
    """What each character wears on each frame, numbered as the production does."""
    return {
        (one.shot.id, cast.character): {n: code for n, code in enumerate(cast.track.pieces, start=1)}
        for one in plans.shots
        for cast in one.cast
    }


def test_the_command_says_it_in_words(heard_sample, production, worn) -> None:
    done = run("why", heard_sample, "040", 20, "--character", "heron")
    assert (done.code, done.err) == (ExitCode.DONE, "")
    first, *rest = done.out.splitlines()
    code = worn["040", "heron"][20]
    assert first.startswith(f"shot 040, frame 20: Zoë Wade wears {code}. ")
    assert rest[1] == "What competes for the frame, the strongest first:"
    at = rest.index("What each piece would cost, the cheapest for the whole shot first:")
    table = [re.split(r"\s{2,}", row.strip()) for row in rest[at + 2 :]]
    assert sorted(row[0] for row in table) == sorted(production.mouth_sets["heron"].by_code)
    assert [row[0] for row in table if row[-1] == "(worn)"] == [code]
    assert table[0][0] == code, "the optimum has no cheaper piece"
    more = [float(row[-1].removesuffix(" more")) for row in table if row[-1].endswith(" more")]
    assert more == sorted(more)
    assert min(more) >= 0


def test_the_answer_as_json_is_for_everybody_on_camera(heard_sample, worn) -> None:
    done = run("why", heard_sample, "040", 20, "--json")
    answers = json.loads(done.out)["answers"]
    assert {(one["character"], one["piece"]) for one in answers} == {
        ("crab", worn["040", "crab"][20]),
        ("heron", worn["040", "heron"][20]),
    }
    for one in answers:
        assert one["frame"] == 20
        # All that fills a frame fills it wholly, and weights are told the heaviest first.
        assert sum(claim["fills"] for claim in one["competing"]) == pytest.approx(1, abs=0.01)
        weights = [claim["counts"] for claim in one["competing"]]
        assert weights == sorted(weights, reverse=True)


@pytest.mark.parametrize("shot", ["010", "020", "030", "040"])
def test_the_piece_told_is_the_piece_planned(production, heard, worn, shot) -> None:
    for number in range(1, next(s for _, s in production.shots() if s.id == shot).frames, 29):
        try:
            answers, _ = why_frame(production, heard, Asked(shot, number))
        except InputError:
            assert all(pieces[number] is None for (id, _), pieces in worn.items() if id == shot)
            continue
        told = {answer.character: answer.why.code for answer in answers}
        assert told == {who: pieces[number] for (id, who), pieces in worn.items() if id == shot and pieces[number]}


@pytest.mark.parametrize(
    ("asked", "message"),
    [
        (Asked("040", 301), r'02-post-office.toml: \[\[shot\]\] "040": has no frame 301; its frames are 1 to 300'),
        (Asked("040", 0), "has no frame 0; its frames are 1 to 300"),
        (Asked("010", 5, "crab"), "has heron in it, not 'crab'"),
        (Asked("040", 80, "crab"), "Mr Clamp is off camera on frame 80; no piece is chosen for it"),
    ],
)
def test_a_frame_that_nobody_can_be_asked_about(production, heard, asked, message) -> None:
    with pytest.raises(InputError, match=message):
        why_frame(production, heard, asked)


def test_a_shot_that_is_not_there(heard_sample) -> None:
    done = run("why", heard_sample, "099", 5)
    assert (done.code, done.out) == (ExitCode.INPUT, "")
    assert done.err == f"{heard_sample / 'scenes'}: holds no shot '099'; it has 010, 020, 030, 040\n"


def test_a_frame_is_a_number(heard_sample) -> None:
    assert run("why", heard_sample, "010", "first").code == ExitCode.USAGE
