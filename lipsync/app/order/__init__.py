"""From tracks to what the workshop makes: counts, orders, boards, labels.

counts.py          from tracks to the count of pieces
ordering.py        the order for the puppet workshop
workshop_order.py  an order for the workshop as a value, and as plain rows
order_record.py    what was ordered, kept
order_changes.py   what changed from one revision of the order to the next, in words
order_tables.py    the order for the workshop as CSV and workbook
order_files.py     the order for the workshop on disk
laying_out.py      the board of each puppet for each scene, to lay its pieces out on
labelling.py       labels for the drawers, boxes and backs of pieces
stock_taking.py    a sheet of stock, as it was counted at the shelf, taken in
"""
