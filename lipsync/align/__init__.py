"""Alignment: from a recording and the pronunciations of its words to words and phonemes in time.

acoustic_fit.py     support
acoustic_model.py   the recogniser's own acoustic model, read into arrays, so that it can be asked at any moment, not
                    only each tick
adaptation.py       adapts the acoustic model to a voice: one linear transform of its means
aligning.py         puts the words, phonemes and cues of a line in time
coarse.py           first look
competing_paths.py  the ways through a line's sound
confidence.py       how sure a word is
cues.py             places cues
durations.py        how long phonemes last
evidence.py         what the sound says for and against each word that was found
fine.py             second look
line.py             one line
mending.py          finds a line again where a word is not what is said, or more is said than the text has
own_model.py        hears a line by the acoustic model adapted to its voice
own_voice.py        searches a line in its character's voice, and in another where the line is unlike the others
recogniser.py       finds words and phonemes in the sound with the recogniser pocketsphinx
rejection.py        judges whether a text belongs to a recording
search.py           cuts a recording to what is worth a second look
semi_markov.py      where phones begin
small_words.py      judges words against the commonest small words: said instead, or beside them as well
spreading.py        lays words that no search finds: by how long their phonemes usually last
time_limit.py       how long the search of a line may take
untold.py           finds voice without text
voice.py            the voice factor, and what is known of a voice
word_places.py      where a word lies that is not what is said
"""
