"""The breakdown that is kept: what was computed, what a person corrected, and how the two are held together.

    corrections.py   one correction: the parts that it replaces, and what stands there instead
    correcting.py    the corrections that lead from one breakdown to another
    laying.py        corrections laid over a computed breakdown; its neighbours give way
    pieces.py        pieces put on frames by hand
    faults.py        what does not fit together
    disagreeing.py   where a new computation says something else than a correction
    kept.py          all that is kept of one line
    writing.py       to the text of the file; reading.py and back, by way of tables.py, parts.py and noting.py
    intervals.py     a breakdown as tiers of intervals, for `lipsync.keep.textgrid`
    merging.py       a line computed again; moving.py moves its corrections to the new computation

`lipsync.keep.breakdown` is the door: other stages import from there.
"""
