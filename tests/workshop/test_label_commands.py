"""Labels and boards of a production: which pieces they name, against the tracks, and at which size they are drawn."""

from collections import Counter, defaultdict
from dataclasses import replace

import numpy as np
import pypdfium2
import pytest

from lipsync.app.commands.label_commands import LabelUse, boards, labels
from lipsync.app.hear.heard import Only
from lipsync.app.order.labelling import LabelsAsked, write_labels
from lipsync.app.order.laying_out import BoardsAsked, write_boards
from lipsync.app.order.ordering import order_pieces
from lipsync.errors import ExitCode
from lipsync.paper.label_sheets import USUAL
from tests.running import run
from tests.workshop.conftest import check_pages, lines_of, pages_of


def labelled(made):
    """Return how often each code is the first line of a label, in bold letters."""
    return Counter(text.text for _, _, texts in pages_of(made.path) for text in texts if text.bold)


@pytest.fixture(scope="module")
def worn(production, tracks):
    """The codes that each character wears in each scene."""
    names = {one.name: key for key, one in production.file.characters.items()}
    found = defaultdict(set)
    for row in tracks:
        if row["piece"]:
            found[names.get(row["character"], row["character"]), row["scene"]].add(row["piece"])
    return found


def test_a_drawer_is_labelled_for_each_piece_of_each_set(production, tmp_path) -> None:
    made = write_labels(production, LabelsAsked("drawers"), out=tmp_path)
    codes = Counter(code for one in production.mouth_sets.values() for code in one.by_code)
    assert labelled(made) == codes
    assert (made.labels, made.sheets, made.path.name) == (22, 1, "labels-drawers.pdf")
    check_pages(pages_of(made.path))
    one = write_labels(production, LabelsAsked("drawers", BoardsAsked("crab"), copies=3), out=tmp_path)
    assert labelled(one) == Counter(dict.fromkeys(production.mouth_sets["crab"].by_code, 3))


def test_a_box_is_labelled_for_each_piece_that_its_puppet_wears(production, tracked, worn, tmp_path) -> None:
    asked = LabelsAsked("boxes", BoardsAsked(scene="02-post-office"), first=20)
    made = write_labels(production, asked, tracked, tmp_path)
    assert labelled(made) == Counter(worn["heron", "02-post-office"]) + Counter(worn["crab", "02-post-office"])
    texts = {text for line in lines_of(pages_of(made.path)) for text in line}
    assert {"heron-2", "crab-1"} <= texts
    assert "heron-1" not in texts
    assert made.sheets == 1 + (19 + made.labels - 1) // 21
    one = write_labels(production, LabelsAsked("boxes", BoardsAsked(puppet="heron-1")), tracked, tmp_path)
    assert labelled(one) == Counter(worn["heron", "01-lamp-room"])


def test_a_back_is_labelled_for_each_pressing_that_the_order_needs(production, tracked, tmp_path) -> None:
    made = write_labels(production, LabelsAsked("backs"), tracked, tmp_path)
    needed: Counter[str] = Counter()
    for row in order_pieces(production, tracked, look=True)[0].records:
        needed[row["code"]] += row["pressings_needed"]
    assert labelled(made) == needed


def test_a_back_says_whose_head_takes_it_where_not_all_do(production, tracked, tmp_path) -> None:
    cast = dict(production.file.characters)
    cast["heron"] = cast["heron"].model_copy(update={"interchangeable": False})
    own = replace(production, file=production.file.model_copy(update={"characters": cast}))
    made = write_labels(own, LabelsAsked("backs"), tracked, tmp_path)
    texts = [text for line in lines_of(pages_of(made.path)) for text in line]
    needed = Counter()
    for row in order_pieces(own, tracked, look=True)[0].order.rows:
        needed[row.heads] += row.pressings
    assert [texts.count(puppet) for puppet in ("heron-1", "heron-2")] == [needed[("heron-1",)], needed[("heron-2",)]]
    assert needed[("heron-2",)] > 0
    assert "crab-1" not in texts


def test_what_is_not_there_is_told_in_one_go(heard_sample) -> None:
    done = run(
        "labels", heard_sample, "--for", "boxes", "--character", "gull", "--puppet", "heron-9", "--scene", "attic",
        "--size", "huge",
    )  # fmt: skip
    assert (done.code, done.out) == (ExitCode.INPUT, "")
    for told in (
        "there is no character 'gull'; the characters are heron, crab",
        "nobody has the puppet 'heron-9'; the puppets are heron-1, heron-2, crab-1",
        "holds no scene 'attic'; it has 01-lamp-room, 02-post-office",
        "there is no label sheet 'huge'; there are 105x148.5, ",
    ):
        assert told in done.err
    assert len(done.err.splitlines()) == 4
    done = run("labels", heard_sample, "--first", "25")
    assert done.err.endswith("there is no label 25 on a sheet of 70x37; it has 1 to 24\n")


def test_a_size_without_a_name_is_no_size(heard_sample, production) -> None:
    """An empty name is not taken for the usual size; all sizes that there are stand in the one sentence."""
    done = run("labels", heard_sample, "--size", "")
    assert (done.code, done.out, len(done.err.splitlines())) == (ExitCode.INPUT, "", 1)
    assert f"there is no label sheet ''; there are {', '.join(USUAL)}, or add a [[labels.sheet]]" in done.err


def test_own_sheets_are_checked_with_all_other_files(sample) -> None:
    with (sample / "production.toml").open("a", encoding="utf-8") as file:
        file.write('\n[[labels.sheet]]\nname = "dot"\ncolumns = 9\nrows = 9\nwidth_mm = 5.0\nheight_mm = 4.0\n')
    (sample / "stock.toml").write_text(
        'counted = 2026-12-01\n[[piece]]\ncharacter = "heron"\ncode = "HUGE"\nthere = -1\n', encoding="utf-8"
    )
    done = run("labels", sample)
    assert done.code == ExitCode.INPUT
    assert "nothing fits on a label of 5 by 4 mm; a code takes 12 by 5 mm at least" in done.err
    assert "found -1; 0 or more is allowed" in done.err
    assert "heron has no piece 'HUGE'" in done.err


def test_a_board_has_a_place_for_each_piece_of_its_scene(production, tracked, worn, tmp_path) -> None:
    made = write_boards(production, tracked, BoardsAsked(), out=tmp_path)
    pages = pages_of(made.path)
    check_pages(pages)
    codes = {code for one in production.mouth_sets.values() for code in one.by_code}
    shown = [sorted(text.text for text in texts if text.bold and text.text in codes) for _, _, texts in pages]
    expected = [("heron", "01-lamp-room"), ("heron", "02-post-office"), ("crab", "01-lamp-room")]
    expected.append(("crab", "02-post-office"))
    assert shown == [sorted(worn[key]) for key in expected]
    assert [(one.puppet, one.scene) for one in made.boards] == [
        ("heron-1", "01-lamp-room"), ("heron-2", "02-post-office"), ("crab-1", "01-lamp-room"),
        ("crab-1", "02-post-office"),
    ]  # fmt: skip
    assert "Not at size" in " ".join(text for line in lines_of(pages) for text in line)


def test_the_mouth_at_rest_is_printed_as_wide_as_it_is(production, tracked, tmp_path) -> None:
    """Its ink is measured on the page: 40 mm from corner to corner, and half a line more on each side."""
    cast = production.file.characters
    wide = cast["heron"].model_copy(update={"mouth_mm": 40.0})
    from dataclasses import replace

    file = production.file.model_copy(update={"characters": {**cast, "heron": wide}})
    made = write_boards(replace(production, file=file), tracked, BoardsAsked(puppet="heron-1"), out=tmp_path)
    page = pypdfium2.PdfDocument(made.path)[0]
    (rest,) = (text for _, _, texts in pages_of(made.path) for text in texts if text.text == "REST")
    dark = page.render(scale=200 / 72, grayscale=True).to_numpy().squeeze() < 200
    mm = 25.4 / 200
    # A row of points a quarter of the place's height and more above the code, inside the place's own edges.
    left, right = int((rest.left + 1) / mm), int((rest.left + 54) / mm)
    rows = dark[int((rest.top - 28) / mm) : int((rest.top - 4) / mm), left:right]
    columns = np.flatnonzero(rows.any(axis=0))
    assert (columns[-1] - columns[0]) * mm == pytest.approx(40, abs=2.2)
    assert columns[0] > 0
    assert columns[-1] < rows.shape[1] - 1


def test_a_mouth_that_is_larger_than_the_page_is_refused(sample) -> None:
    path = sample / "production.toml"
    text = path.read_text(encoding="utf-8").replace("puppets = 2", "mouth_mm = 260\npuppets = 2")
    path.write_text(text, encoding="utf-8")
    done = run("boards", sample)
    assert (done.code, done.out) == (ExitCode.INPUT, "")
    assert "too large for A4; take larger paper, or leave mouth_mm out" in done.err


def test_a_scene_is_laid_out_and_labelled_by_its_own_shots_alone(
    heard_sample, production, tracked, tmp_path, monkeypatch
) -> None:
    scene, whole = "01-lamp-room", write_boards(production, tracked, BoardsAsked(), out=tmp_path).boards
    own = replace(tracked, shots=tuple(one for one in tracked.shots if one.scene.id == scene))
    asked = BoardsAsked(scene=scene)
    assert write_boards(production, own, asked, out=tmp_path).boards == tuple(b for b in whole if b.scene == scene)
    planned: list[Only] = []

    def of_scene(_, only, *__):
        planned.append(only)
        return own

    monkeypatch.setattr("lipsync.app.renew.renewing.tracked_shots", of_scene)
    labels(heard_sample, LabelUse.BOXES, scene=scene, out=tmp_path)
    boards(heard_sample, scene=scene, out=tmp_path)
    assert planned == [Only(scene), Only(scene)]
    assert {path.name for path in tmp_path.iterdir()} >= {f"labels-boxes-{scene}.pdf", f"boards-{scene}.pdf"}
