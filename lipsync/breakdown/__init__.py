"""The breakdown that is kept: what was computed, what a person corrected, and how the two are held together.

breakdown_file.py    the door: a line's record read, written, computed again; other rooms import from here
kept.py              all that is kept of one line
corrections.py       one correction: the parts that it replaces, and what stands there instead; pieces put by hand
correcting.py        the corrections that lead from one breakdown to another
laying.py            corrections laid over a computed breakdown; its neighbours give way
settling.py          doubts that a person has settled
merging.py           a line computed again
rebase.py            its corrections moved to the new computation
disagreeing.py       where a new computation says something else than a correction
correction_faults.py  what does not fit together between a computation and its corrections
breakdown_faults.py  faults of a file, gathered so that all are told in one go
writing.py           to the text of the file
reading.py           and back
breakdown_tables.py  the file's tables, checked one by one
parts.py             the file's words, cues and corrections, as values
textgrid.py          to the interval form of phonetics editors and back (the only file that knows its library)
intervals.py         a breakdown as tiers of intervals
"""
