"""The workshop: from tracks to pieces counted, ordered and chosen.

board_uses.py       how the uses of a piece are served, as values
counting.py         how many pieces a production takes, from its tracks
handing_on.py       the fewest pressings of a piece that are enough, on whichever days its fittings fall
hand_over_network.py  the ways that pressings can go from board to board, as an integer program
integer_program.py  the one file that knows the solver of integer programs, HiGHS (Huangfu and Hall 2018, through
                    highspy)
piece_selection.py  which pieces are worth making
pressings.py        how many pressings the workshop makes of each piece, from the shooting plan
quick_serving.py    pressings served out by simple rules, and how many there must be in any case
scene_boards.py     what lies on the board of a puppet for a scene
shooting.py         the shooting plan
stock.py            what there is of the pieces
side_by_side.py     what changes when a table changes
trade_off.py        what less work would cost
"""
