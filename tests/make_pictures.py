"""Makes the pictures of the manual again: `python tests/make_pictures.py`, from the sample production.

The test of README holds them against what is printed today.
"""

from __future__ import annotations

import io
import tempfile
from pathlib import Path

from PIL import Image

from lipsync.app.hear.heard import Only
from lipsync.app.print.printing import write_sheets
from lipsync.app.renew.renewing import hear_and_plan
from lipsync.paper.raster import png
from lipsync.production.loading import open_production
from lipsync.production.sample import put_sample

ROOT = Path(__file__).parent.parent
MANUAL = ROOT / "lipsync" / "manual"

DOTS_TO_THE_INCH = 110
# The upper part of the first page: the heading and the first rows of both banks, if there are two.
SHARE_OF_THE_PAGE = 0.48


def pictures(sample: Path) -> dict[str, bytes]:
    """Return each picture's name and its bytes, from a copy of the sample production; a sheet is printed in it."""
    production = open_production(sample)
    plans = hear_and_plan(production, Only(shot="010"))
    (sheet,) = write_sheets(production, plans).paths
    page = Image.open(io.BytesIO(png(sheet.read_bytes(), dots_to_the_inch=DOTS_TO_THE_INCH)))
    upper = page.crop((0, 0, page.width, int(page.height * SHARE_OF_THE_PAGE)))
    out = io.BytesIO()
    upper.convert("L").quantize(16).save(out, "PNG", optimize=True)
    return {"sheet.png": out.getvalue()}


if __name__ == "__main__":
    with tempfile.TemporaryDirectory() as temporary:
        folder = Path(temporary) / "low-tide-post"
        put_sample(folder)
        for name, content in pictures(folder).items():
            (MANUAL / name).write_bytes(content)
