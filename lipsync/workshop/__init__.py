"""The workshop: from tracks to pieces counted, ordered and chosen.

counting.py         how many pieces a production takes, from its tracks
integer_program.py  the one file that knows the solver of integer programs, HiGHS (Huangfu and Hall 2018, through
                    highspy)
piece_selection.py  which pieces are worth making
pressings.py        how many pressings the workshop makes of each piece, from the shooting plan
shooting.py         the shooting plan
side_by_side.py     what changes when a table changes
trade_off.py        what less work would cost
"""
