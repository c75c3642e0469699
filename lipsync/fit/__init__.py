"""Fitting: from phonemes in time to the piece on every frame.

asked_lips.py    what pieces are compared with: where real lips and the studio's own shapes meet
backtrace.py     which demands are open on which frame, and what becomes of them from one frame to the next
closures.py      when lips are closed, and the lower one is under the teeth
costs.py         what a track costs, item by item, in the unit of fit_settings.py
cue_lips.py      cues move: a laugh with its bursts, a scream and a sigh with the level
fit_job.py       what fitting needs to know of one character in one shot
fit_settings.py  what a studio decides about fitting
fitting.py       the one door to fitting
keys.py          keys and what is modelled between them
lip_measures.py  what callipers find on a piece, and the numbers of its lips
lips.py          how unlike two mouths are to the eye
lips_in_time.py  what lips do at each moment of speech: the one door to the model, data/lips.toml
mouthset.py      A character's mouth set
optimum.py       the track of least cost over all possible tracks, by dynamic programming
overlap.py       which turns each frame of a shot shows something of, and how much
cost_matrix.py   the numbers that the optimum is found for
reason.py        what decided on a frame, in one sentence
rules.py         what may be worn where, and what must be seen
schedule.py      when each sound's mouth is due
sense.py         whether a mouth set makes sense
serving.py       which sound each frame shows, and which sounds are lost, once the pieces are chosen
sizes.py         how large each sound's mouth is, 0 to 1, and the lips that follow from it
turns.py         what the lips are to do one after the other, and how much each matters to the eye
weighing.py      from a job and its turns to the numbers that the optimum is found for
why.py           why a frame wears the piece that it wears
"""
