"""A production's folder: read, checked, begun.

loading.py            reading a production's folder
production_faults.py  what one table of a production says that another table, or another file, does not allow
production_tables.py  A production as people write it, a table for each file
recording_faults.py   what is wrong with recordings and cues, as far as the head of each file shows
sample.py             the sample production, put where it can be worked on
scene_text.py         a scene's file amended in place: what people wrote stays
starting.py           starting a production that a person can fill in
values.py             A whole production, checked
"""
