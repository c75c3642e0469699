"""Fitting: from phonemes in time to the piece on every frame.

fitting.py       the entrance: fits one character in one shot
fit_job.py       what fitting needs to know of one character in one shot
fit_settings.py  what a studio decides about fitting
mouthset.py      a character's mouth set
sense.py         finds what a mouth set allows and no studio is likely to intend
lip_measures.py  what callipers find on a piece, and the numbers of its lips
lips.py          how unlike two mouths are to the eye
sizes.py         how large each sound's mouth is, 0 to 1, and the lips that follow from it
turns.py         one shape of one sound, or a rest, and how much it matters to the eye
schedule.py      when each sound's mouth is due
closures.py      when lips are closed, and when the lower lip is under the teeth
overlap.py       which turns fill a part of each frame, and how much of it
lips_in_time.py  what lips do at each moment of speech, by the model in data/lips.toml
cue_lips.py      lets the opening of the lips follow the level of the voice in cues
asked_lips.py    what pieces are compared with on each frame: the model's lips and the studio's own shapes
rules.py         what may be worn on each frame, and what must be seen
weighing.py      makes the numbers that the optimum is found for from a job and its turns
costs.py         what a track costs, item by item
cost_matrix.py   the numbers that the optimum is found for
optimum.py       the track of least cost over all possible tracks, by dynamic programming
backtrace.py     demands from frame to frame, and the way back through the costs of the search
serving.py       which sound each frame shows, and which sounds are lost, once the pieces are chosen
keys.py          keys, and what is modelled between them
why.py           why a frame wears its piece: sounds, pieces and costs
reason.py        what decided on a frame, in one sentence
"""
