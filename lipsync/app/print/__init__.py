"""From tracks to paper and data.

printing.py     from tracks to paper
pictures.py     the studio's own pictures of pieces; one that cannot be read holds up nothing
unchanged.py    what is printed and filmed is what the files say
packing.py      packets on disk
charting.py     the mouth chart of each character, to hang beside the puppet
tracking.py     from tracks to data
track_forms.py  the forms in which a track can be written
asking.py       answers about prints
"""
