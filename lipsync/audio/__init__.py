"""Audio: a recording read, cleaned and turned into numbers; it knows nothing of words.

cleaning.py    repairs clipping and takes out clicks and steady noise, before the recogniser hears a recording
features.py    computes the acoustic features of a recording, at steps of 5 ms
pitch.py       finds the pitch of a voice in spans of a recording
recording.py   reads a recording as one channel at 16 kHz, whatever file it is from; measures levels
sound_file.py  opens a recording's file
"""
