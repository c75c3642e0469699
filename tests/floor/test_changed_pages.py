"""Which pages of a revision differ from the print before: what is said on each page, and what `--changed` prints."""

import pypdfium2
import pytest

from lipsync.app.print.printing import write_sheets
from tests.floor.build import SPOKEN, planned, printed, production_of, the_plan, with_shot
from tests.paper.test_exposure import numbers_on


def said_on(pages):
    """For each page the first frame and what it says of the print before."""
    found = []
    for _, _, texts in pages:
        shown = [text.text for text in texts]
        told = [text for text in shown if text in ("this page as in A", "not as in A")]
        if "frame" in shown:
            found.append((int(numbers_on(texts)[0].text), *told))
    return found


@pytest.fixture
def production(tmp_path):
    return production_of(tmp_path, frames=120)


def test_a_first_print_says_nothing_of_another(production, read):
    revised = printed(production, the_plan(planned(production)))
    assert {len(page) for page in said_on(read(revised.document()))} == {1}
    assert len(revised.changed_document().pages) == len(revised.document().pages)


def test_only_pages_with_other_rows_differ(production, read):
    first = printed(production, the_plan(planned(production)))
    starts = [page[0] for page in said_on(read(first.document()))]
    # The second line alone begins three frames later: nothing before it can change but the closing of a long rest.
    line = [*production.scenes[0].shots[0].line]
    moved = with_shot(production, line=(line[0], line[1].model_copy(update={"begins": 90})))
    second = printed(moved, the_plan(planned(moved)))
    assert second.job.changed
    each = second.document()
    pages = said_on(read(each))
    assert [page[0] for page in pages] == starts
    for at, (start, told) in enumerate(pages):
        end = (*starts, 121)[at + 1]
        differs = any(start - 1 <= frame < end - 1 for frame in second.job.changed)
        assert told == ("not as in A" if differs else "this page as in A")
    assert {told for _, told in pages} == {"not as in A", "this page as in A"}
    few = second.changed_document()
    assert said_on(read(few)) == [page for page in pages if page[1] == "not as in A"]
    # What changed is told with them, and pages keep their numbers.
    assert any("What changed from revision A to B" in t.text for _, _, texts in read(few) for t in texts)
    numbered = [t.text for _, _, texts in read(few) for t in texts if t.text.startswith("page ")]
    assert numbered[0] != f"page 1 of {len(starts)}"


def test_a_longer_shot_changes_the_pages_that_are_cut_otherwise(production, read):
    printed(production, the_plan(planned(production)))
    longer = with_shot(production, frames=124)
    pages = said_on(read(printed(longer, the_plan(planned(longer))).document()))
    assert pages[0][1] == "this page as in A"
    assert pages[-1][1] == "not as in A"


def test_another_title_changes_every_page(production, read):
    printed(production, the_plan(planned(production)))
    title = production.file.model_copy(update={"title": "High Tide Post"})
    named = type(production)(production.folder, title, production.mouth_sets, production.scenes)
    pages = said_on(read(printed(named, the_plan(planned(named))).document()))
    assert {told for _, told in pages} == {"not as in A"}


def test_changed_writes_only_these_pages_and_the_whole_sheet_beside(production):
    plans = planned(production, SPOKEN)
    (path,) = write_sheets(production, plans).paths
    whole = len(pypdfium2.PdfDocument(path))
    line = [*production.scenes[0].shots[0].line]
    moved = with_shot(production, line=(line[0], line[1].model_copy(update={"begins": 90})))
    (few,) = write_sheets(moved, planned(moved), changed=True).paths
    assert few == path.parent / "changed" / path.name
    assert len(pypdfium2.PdfDocument(few)) < len(pypdfium2.PdfDocument(path))
    assert len(pypdfium2.PdfDocument(path)) == whole + 1
