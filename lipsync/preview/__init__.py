"""Preview: movies of the mouths with the sound, so that a shot can be judged before any clay is modelled.

reel.py          what the movie shows on each frame, and when each recording begins
painting.py      draws a frame as a picture: mouths, words, piece codes, frame number
moving_mouth.py  draws a mouth as a picture, from the same outlines as on paper
mixing.py        mixes the recordings of the shots
movie.py         writes pictures and sound into a file (the only file that knows PyAV)
previewing.py    writes the movies of a production's shots or scenes
"""
