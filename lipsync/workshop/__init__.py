"""The workshop: from tracks to pieces counted, ordered and chosen.

board_stretches.py  the uses that one pressing may serve one after the other on one puppet
board_uses.py       the values: uses of a piece, rules, and which pressing serves which use
counting.py         how many pieces a production takes, from its tracks
fitting_shares.py   ways to share fittings out over the rows of the plan in which they may fall
handing_on.py       the fewest pressings of a piece that are enough, whichever days its fittings fall on
hand_over_network.py  the ways that pressings can go from board to board, as an integer program
integer_program.py  the one file that knows the solver of integer programs, HiGHS (Huangfu and Hall 2018, through
                    highspy)
making.py           the studio's figures of what making pieces takes
making_cost.py      what an order takes to make: work, moulds, batches and price, by week
order_groups.py     what an order says to make, grouped by scene, puppet, week or character
order_rows.py       the values that an order consists of
piece_selection.py  which pieces are worth making
pressings.py        how many pressings the workshop makes of each piece, from the shooting plan
quick_serving.py    pressings dealt out by simple rules, and the fewest that there can be in any case
scene_boards.py     what lies on the board of a puppet for a scene
shooting.py         the shooting plan
standing_lanes.py   lanes that are enough for a whole box of ways to share fittings out
stock.py            how many of each piece there are, as counted
side_by_side.py     two mouth sets, or two settings, compared on the same scene
trade_off.py        fewer fittings against a higher visual cost
"""
