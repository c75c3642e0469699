"""The stages in order, for a whole production. Each name here is one step; cli.py and other callers use no others.

start_production  a folder with files to fill in       (production/starting.py)
open_production   folder -> Production                 (production/loading.py)
find_taking       lists, edits, recordings -> what they change of it   (app/taking.py); write_taking: does it
hear              lines -> breakdowns, kept on disk    (app/hearing.py)
plan              breakdowns -> a track for each shot  (app/planning.py); hear_and_plan: both
write_sheets      tracks -> a PDF for each shot        (app/printing.py)
write_tracks      tracks -> CSV, JSON, text, WebVTT    (app/tracking.py)
count_pieces      tracks -> pieces each character needs
write_count       counts -> count.pdf and count.csv    (app/counts.py)
why_frame         why a frame wears its piece           (app/explaining.py)
write_charts      mouth sets -> mouth charts            (app/charting.py)
order_pieces      tracks and the shooting plan -> pressings of each piece    (app/ordering.py)
write_order       the order -> order.pdf, order.csv and order.xlsx    (app/order_files.py)
weigh_scene       a scene's jobs -> the curve of fittings against visual cost
write_weighed     the curve -> weigh-SCENE.pdf, .png and .csv   (app/deciding.py)
worth_of          a character's jobs -> the best set for each number of pieces
write_worth       the sets -> worth-CHARACTER.pdf, .png and .csv
try_other         another mouth set or other settings on a scene, beside the present ones    (app/trying.py)
write_tried       both ways -> side-by-side-SCENE-... as .pdf and .csv    (app/showing.py)
lock, take_back, film_again   what is in the can, kept by every plan   (floor/locking.py)
check_print, compare          prints and what changed since            (app/asking.py, floor/compared.py)
write_packets                 what goes to the set with a shot         (app/packing.py)
"""

from __future__ import annotations

from lipsync.app.amending import import_textgrid, take_newer, write_textgrids
from lipsync.app.asking import about_shot, check_print, present_state, prints_with
from lipsync.app.charting import write_charts
from lipsync.app.counts import count_pieces, write_count
from lipsync.app.deciding import weigh_scene, worth_of, write_weighed, write_worth
from lipsync.app.explaining import Asked, why_frame
from lipsync.app.heard import Heard, HeardLine, Only
from lipsync.app.hearing import hear
from lipsync.app.order_files import write_order
from lipsync.app.ordering import order_pieces
from lipsync.app.packing import write_packets
from lipsync.app.planning import Plans, ShotPlan, hear_and_plan, plan
from lipsync.app.printing import write_sheets
from lipsync.app.records import count_records, line_record, line_summary
from lipsync.app.showing import write_tried
from lipsync.app.taking import TakeOptions, Taking, find_taking, take_records, take_rows, write_taking
from lipsync.app.tracking import track_texts, write_tracks
from lipsync.app.trying import Trial, try_other
from lipsync.floor.compared import compare
from lipsync.floor.filmed_rows import event_rows, filmed_records, filmed_rows
from lipsync.floor.locking import film_again, lock, take_back
from lipsync.floor.state import SheetState
from lipsync.production.loading import load_production as open_production
from lipsync.production.sample import put_sample
from lipsync.production.starting import start_production
from lipsync.production.values import Production
from lipsync.report import Progress, Report

__all__ = [
    "Asked",
    "Heard",
    "HeardLine",
    "Only",
    "Plans",
    "Production",
    "Progress",
    "Report",
    "SheetState",
    "ShotPlan",
    "TakeOptions",
    "Taking",
    "Trial",
    "about_shot",
    "check_print",
    "compare",
    "count_pieces",
    "count_records",
    "event_rows",
    "film_again",
    "filmed_records",
    "filmed_rows",
    "find_taking",
    "hear",
    "hear_and_plan",
    "import_textgrid",
    "line_record",
    "line_summary",
    "lock",
    "open_production",
    "order_pieces",
    "plan",
    "present_state",
    "prints_with",
    "put_sample",
    "start_production",
    "take_back",
    "take_newer",
    "take_records",
    "take_rows",
    "track_texts",
    "try_other",
    "weigh_scene",
    "why_frame",
    "worth_of",
    "write_charts",
    "write_count",
    "write_order",
    "write_packets",
    "write_sheets",
    "write_taking",
    "write_textgrids",
    "write_tracks",
    "write_tried",
    "write_weighed",
    "write_worth",
]
