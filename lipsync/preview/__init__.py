"""A moving picture of the mouths with the sound: a director hears and sees a shot before anyone touches clay.

reel.py          what the movie shows on each frame, and which sound lies where
painting.py      a frame as points: mouths, words, piece codes, frame number
moving_mouth.py  a mouth as points, from the same outlines as on paper
mixing.py        the sound of the shots, sample for sample
movie.py         writes pictures and sound into a file (the only file that knows PyAV)
previewing.py    from a production and its plans to movies on disk
"""
