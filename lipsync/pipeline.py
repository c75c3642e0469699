"""The stages in order, for a whole production. Each name here is one step; cli.py and other callers use no others.

open_production   folder -> Production                 (production_read.py)
hear              lines -> breakdowns, kept on disk    (hearing.py)
plan              breakdowns -> a track for each shot  (planning.py)
write_sheets      tracks -> a PDF for each shot        (printing.py)
count_pieces      tracks -> pieces each character needs
write_count       counts -> count.pdf and count.csv
"""

from __future__ import annotations

from lipsync.hearing import Heard, HeardLine, Only, hear, import_textgrid, take_newer, write_textgrids
from lipsync.planning import Plans, ShotPlan, plan
from lipsync.printing import count_pieces, write_count, write_sheets
from lipsync.production_read import load_production as open_production
from lipsync.records import count_records, line_record, line_summary
from lipsync.report import Progress, Report
from lipsync.sample import put_sample

__all__ = [
    "Heard",
    "HeardLine",
    "Only",
    "Plans",
    "Progress",
    "Report",
    "ShotPlan",
    "count_pieces",
    "count_records",
    "hear",
    "import_textgrid",
    "line_record",
    "line_summary",
    "open_production",
    "plan",
    "put_sample",
    "take_newer",
    "write_count",
    "write_sheets",
    "write_textgrids",
]
