"""The sample production planned once, its tracks as CSV, and pages read back."""

import csv
import io
from itertools import combinations

import pypdfium2
import pytest

from lipsync.app.hear.heard import Heard
from lipsync.app.hear.hearing import hear
from lipsync.app.plan.planning import Plans, plan
from lipsync.app.plan.tracked import TrackedShots
from lipsync.app.print.pictures import pictures_of
from lipsync.app.print.printing import sheet_job
from lipsync.paper.pdf import draw
from lipsync.paper.track_data import csv_of
from lipsync.production.loading import open_production
from lipsync.production.values import Production
from tests.paper.conftest import MM, texts_of


@pytest.fixture(scope="session")
def production(heard_sample) -> Production:
    """The sample production; not to be changed."""
    return open_production(heard_sample)


@pytest.fixture(scope="session")
def heard(production) -> Heard:
    """All its lines."""
    return hear(production)


@pytest.fixture(scope="session")
def plans(production, heard) -> Plans:
    """All its shots, planned."""
    return plan(production, heard)


@pytest.fixture(scope="session")
def tracked(plans) -> TrackedShots:
    """What is worn in them."""
    return plans.tracked


@pytest.fixture(scope="session")
def tracks(production, plans) -> list[dict[str, str]]:
    """Every frame of every track, as the CSV of a track says it, with its scene."""
    art = pictures_of(production).art
    return [
        {"scene": one.scene.id, **row}
        for one in plans.shots
        for row in csv.DictReader(io.StringIO(csv_of(sheet_job(production, one, art))))
    ]


def pages_of(pdf):
    """Return the pages of a PDF file, or of a document: width and height in mm, and texts."""
    data = pdf if isinstance(pdf, bytes) else pdf.read_bytes() if hasattr(pdf, "read_bytes") else draw(pdf)
    return [(page.get_width() * MM, page.get_height() * MM, texts_of(page)) for page in pypdfium2.PdfDocument(data)]


def check_pages(pages):
    """Nothing lies off the page or over anything else, and nothing is too small to read."""
    for width, height, texts in pages:
        for text in texts:
            assert 3 <= text.left < text.right <= width - 3, text
            assert 3 <= text.top < text.bottom <= height - 3, text
            assert text.size >= 7
        for a, b in combinations(texts, 2):
            assert a.right <= b.left or b.right <= a.left or a.bottom <= b.top or b.bottom <= a.top, (a, b)


def lines_of(pages):
    """Return the texts of each line, from left to right, page after page."""
    found = []
    for _, _, texts in pages:
        rows = {}
        for text in texts:
            rows.setdefault(round(text.baseline, 1), []).append(text)
        found += [
            [text.text for text in sorted(rows[baseline], key=lambda text: text.left)] for baseline in sorted(rows)
        ]
    return found
