"""What people decide about lines, written where it is kept.

amending.py            what a person decides about a line that has been heard
levels.py              how loud each phoneme is that was placed by hand
entry_writing.py       what a scene's file says of a line, changed in place
production_writing.py  what production.toml says for all lines, changed in place
"""
