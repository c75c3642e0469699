"""What a director and a head of department decide from, before anything is changed.

deciding.py      what a director and a head of department decide from
worth_making.py  what making each of a character's reduced sets would take
trying.py        another mouth set or other settings tried on a scene, beside the present ones
showing.py       another mouth set or other settings beside the present ones, written
explaining.py    why a frame wears the piece that it wears (fit/why.py), in the numbers of the production
"""
