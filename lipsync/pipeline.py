"""The stages in order, for a whole production. Each name here is one step; cli.py and other callers use no others.

start_production  a folder with files to fill in       (production/new.py)
open_production   folder -> Production                 (production/reading.py)
hear              lines -> breakdowns, kept on disk    (steps/hearing.py)
plan              breakdowns -> a track for each shot  (steps/planning.py); hear_and_plan: both
write_sheets      tracks -> a PDF for each shot        (steps/printing.py)
write_tracks      tracks -> CSV, JSON, text, WebVTT    (steps/tracking.py)
count_pieces      tracks -> pieces each character needs
write_count       counts -> count.pdf and count.csv    (steps/counting.py)
why_frame         why a frame wears its piece           (steps/explaining.py)
write_charts      mouth sets -> mouth charts            (steps/charting.py)
order_pieces      tracks and the shooting plan -> pressings of each piece    (steps/ordering.py)
write_order       the order -> order.pdf, order.csv and order.xlsx    (steps/order_files.py)
weigh_scene       a scene's jobs -> the curve of fittings against visual cost
write_weighed     the curve -> weigh-SCENE.pdf, .png and .csv   (steps/deciding.py)
worth_of          a character's jobs -> the best set for each number of pieces
write_worth       the sets -> worth-CHARACTER.pdf, .png and .csv
try_other         another mouth set or other settings on a scene, beside the present ones    (steps/trying.py)
write_tried       both ways -> side-by-side-SCENE-... as .pdf and .csv    (steps/showing.py)
lock, take_back, film_again   what is in the can, kept by every plan   (filming/locking.py)
check_print, compare          prints and what changed since            (steps/asking.py, filming/compared.py)
write_packets                 what goes to the set with a shot         (steps/packing.py)
"""

from __future__ import annotations

from lipsync.filming.can import event_rows, filmed_records, filmed_rows
from lipsync.filming.compared import compare
from lipsync.filming.locking import film_again, lock, take_back
from lipsync.filming.state import State
from lipsync.production.new import start_production
from lipsync.production.reading import load_production as open_production
from lipsync.production.sample import put_sample
from lipsync.production.values import Production
from lipsync.report import Progress, Report
from lipsync.steps.amending import import_textgrid, take_newer, write_textgrids
from lipsync.steps.asking import about_shot, check_print, present_state, prints_with
from lipsync.steps.charting import write_charts
from lipsync.steps.counting import count_pieces, write_count
from lipsync.steps.deciding import weigh_scene, worth_of, write_weighed, write_worth
from lipsync.steps.explaining import Asked, why_frame
from lipsync.steps.heard import Heard, HeardLine, Only
from lipsync.steps.hearing import hear
from lipsync.steps.order_files import write_order
from lipsync.steps.ordering import order_pieces
from lipsync.steps.packing import write_packets
from lipsync.steps.planning import Plans, ShotPlan, hear_and_plan, plan
from lipsync.steps.printing import write_sheets
from lipsync.steps.records import count_records, line_record, line_summary
from lipsync.steps.showing import write_tried
from lipsync.steps.tracking import track_texts, write_tracks
from lipsync.steps.trying import Trial, try_other

__all__ = [
    "Asked",
    "Heard",
    "HeardLine",
    "Only",
    "Plans",
    "Production",
    "Progress",
    "Report",
    "ShotPlan",
    "State",
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
    "write_textgrids",
    "write_tracks",
    "write_tried",
    "write_weighed",
    "write_worth",
]
