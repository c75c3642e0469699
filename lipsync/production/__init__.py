"""A production's folder: read, checked, begun; and what lists, edits and recordings say, taken into it.

loading.py            reading a production's folder
production_faults.py  what one table of a production says that another table, or another file, does not allow
production_tables.py  A production as people write it, a table for each file
written_times.py      times as people write them, in microseconds
broadcast_wave.py     what a broadcast wave file says of itself: time stamp, length, scene and take
scene_text.py         a scene's file as text, amended in place
sample.py             the sample production, put where it can be worked on
starting.py           starting a production that a person can fill in
values.py             A whole production, checked
"""
