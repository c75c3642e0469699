"""The breakdown that is kept of a line: what was computed, what a person corrected, and what follows from both.

breakdown_file.py    the entrance: reads, writes and merges a line's record; other rooms import mostly from here
kept.py              all that is kept of one line
corrections.py       one correction: the parts that it replaces, and what stands there instead; pieces put by hand
correcting.py        finds the corrections that lead from one breakdown to another
laying.py            lays corrections over a computed breakdown; parts beside them are shortened
settling.py          leaves out the doubts that a person has settled
merging.py           merges a new computation of a line into what is kept of it
rebase.py            moves corrections to a new computation
disagreeing.py       tells where a new computation says something else than a correction
correction_faults.py  finds what does not fit together between a computation and its corrections
breakdown_faults.py  gathers the faults of a file, so that all are reported in one go
writing.py           makes the text of the file from what is kept
reading.py           makes what is kept from the text of the file
breakdown_tables.py  the file's tables as pydantic models
parts.py             makes words, cues and corrections from the file's tables
textgrid.py          writes and reads TextGrid, the file of phonetics editors (the only file that knows its library)
intervals.py         a breakdown as tiers of intervals, and back
"""
