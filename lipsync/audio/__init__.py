"""Audio: a recording read, cleaned and turned into numbers; it knows nothing of words.

cleaning.py    rounds the cut-off tops of a recording made too loud, before the recogniser hears it
features.py    what the acoustic model hears, at steps of 5 ms
pitch.py       how high a voice is at a place of a recording
recording.py   A recording as sound, the same whatever file it is from
sound_file.py  opens a recording's file
"""
