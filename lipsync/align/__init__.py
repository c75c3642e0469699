"""Alignment: from a recording and the pronunciations of its words to words and phonemes in time.

acoustic_fit.py     support: how well the sound fits words; and the penalty for a silence at each step
acoustic_model.py   the recogniser's own acoustic model, read into arrays, so that it can score any moment of the
                    sound, not only each tick
adaptation.py       adapts the acoustic model to a voice: one linear transform of its means
aligning.py         puts the words, phonemes and cues of a line in time
chains.py           the best paths through chains of states, followed over all ticks at once
coarse.py           the first look: which pronunciations a line has, and roughly where its words lie
competing_paths.py  compares the words as written with what else may have been said in the same sound
confidence.py       the confidence of each word, from its evidence
cues.py             places cues between the words
durations.py        how long each phoneme usually lasts
evidence.py         what the sound says for and against each word that was found
fine.py             the second look: the boundaries between phonemes, to 5 ms
line.py             from the recording and the text of one line to its breakdown
mending.py          searches again where a word was not said, or where more was said than the text has
own_model.py        judges, and if needed aligns again, a line by the acoustic model adapted to its voice
own_voice.py        searches a line at its character's voice factor, and at others where that fits badly
recogniser.py       finds words and phonemes in the sound with the recogniser pocketsphinx
rejection.py        judges whether a text belongs to a recording
scored_sound.py     a sound as an acoustic model scores it, tick by tick
search.py           both looks, one after the other; a long recording is cut into pieces for the second
settings.py         what is known of a line and of its character's voice before it is listened to
semi_markov.py      the probability that a phone begins at each step
small_words.py      whether a common small word was said in place of a word, or between two words
spreading.py        places words that no search finds, by how long their phonemes usually last
time_limit.py       how long the search of a line may take
untold.py           finds voice without text
voice.py            the voice factor, and what is known of a voice
word_places.py      where to put a word of the text that was not said
"""
