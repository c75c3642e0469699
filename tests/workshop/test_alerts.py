"""What is made from lines of which one is missing says so on each of its pages, and in the workbook."""

import io
import shutil

import openpyxl
import pytest

from tests.running import run
from tests.workshop.conftest import check_pages, lines_of, pages_of

SAID = "020: do not work from this yet: 020-c could not be done, and is missing here"


@pytest.fixture(scope="module")
def broken(heard_sample, tmp_path_factory):
    """The sample without the recording of 020-c, in the first scene, said by the crab."""
    folder = tmp_path_factory.mktemp("broken") / "low-tide-post"
    shutil.copytree(heard_sample, folder)
    (folder / "recordings" / "020-c.wav").unlink()
    return folder


@pytest.mark.parametrize(
    ("arguments", "name"),
    [
        (("order",), "order"),
        (("weigh", "01-lamp-room"), "weigh-01-lamp-room"),
        (("worth", "crab"), "worth-crab"),
        (
            ("side-by-side", "01-lamp-room", "--mouth-set", "heron=driftwood"),
            "side-by-side-01-lamp-room-heron-driftwood",
        ),
    ],
)
def test_a_missing_line_is_told_on_every_page(broken, tmp_path, arguments, name):
    command, *rest = arguments
    made = run(command, broken, *rest, "--out", tmp_path)
    assert made.code == 4
    pages = pages_of(tmp_path / f"{name}.pdf")
    check_pages(pages)
    for page in pages:
        assert [SAID] in lines_of([page])


def test_a_missing_line_is_told_first_in_the_workbook(broken, tmp_path):
    run("order", broken, "--out", tmp_path)
    book = openpyxl.load_workbook(io.BytesIO((tmp_path / "order.xlsx").read_bytes()))
    assert [cell.value for cell in book.worksheets[0]["A"]] == ["read first", SAID]


def test_a_scene_from_which_nothing_is_missing_has_no_warning(broken, tmp_path):
    assert run("weigh", broken, "02-post-office", "--out", tmp_path).code == 4  # for a line of the other scene
    assert [SAID] not in lines_of(pages_of(tmp_path / "weigh-02-post-office.pdf"))
