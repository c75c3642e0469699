"""Text: from what is written of a line to the ways in which its words can be said.

abbreviations.py  tables of what is written shorter than it is spoken
accents.py        accents as rules over general American, the dictionary's own
dictionary.py     finds how words are said
g2p.py            guesses how a word is said that no dictionary has
morphology.py     says words that are no entry themselves but come from known ones
numerals.py       says figures
phonology.py      what a rule of pronunciation is
script.py         turns a line's text into what is spoken
variants.py       as people speak
"""
