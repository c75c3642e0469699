"""Productions from lists, edits and sessions, and given out again.

taking.py           lists, edits and recordings taken into a production
filmed_touched.py   what taking would do to shots of which frames are in the can
sessions.py         sessions of a production cut: which take of each line is chosen, and what is told
session_cutting.py  a recording of a whole session cut into its lines by listening
giving.py           a production given out again: lists, timelines, subtitles
"""
