"""Text: from what is written of a line to the ways in which its words can be said.

abbreviations.py  tables of what is written shorter than it is spoken
accents.py        accents as rules over general American, which the dictionary has
dictionary.py     finds the pronunciations of a word: production's list, dictionary, rules, guess
g2p.py            guesses the pronunciation of a word that no dictionary has
morphology.py     derives the pronunciation of a word from words that the dictionary has
numerals.py       turns figures into spoken words
phonology.py      what a rule of pronunciation is, and those that hold for all speakers
script.py         turns a line's text into spoken words and cues
variants.py       adds the pronunciations that the speaker may use in this line
"""
