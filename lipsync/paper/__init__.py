"""Paper: from plans and counts to pages and files; where a mark goes is decided apart from drawing it.

alerts.py              what must be known before anything on a page is used
beats.py               strong beats
block.py               one character's column on one bank of a page
cells.py               what a row says of one character
chart_page.py          the mouth chart of a character
chart_tiles.py         the tiles of a mouth chart
columns.py             which column lies where
count_page.py          the count as pages
csv_table.py           A table as CSV (RFC 4180, UTF-8), which any spreadsheet opens
exposure.py            the exposure sheet of a shot
flow.py                pages of a report
foot.py                the foot of a sheet's page
grid.py                the grid of a bank of rows
heading.py             the heading of a sheet's page
lettering.py           text that fits
marks.py               marks
measures.py            how wide the texts of a shot's sheet are
mouth_drawing.py       A clean drawing of a mouth from what its lips do
needs.py               what each column of a sheet takes at least, and what it would like
notes.py               where the notes on modelling stand
order_page.py          the order for the puppet workshop as pages
page_forms.py          sizes of paper, and the forms in which a sheet is printed on them
pdf.py                 draws marks as PDF, decides nothing
piece_pictures.py      the picture of each piece
plain_text.py          A shot's sheet as plain text, for a terminal
plot.py                plots
raster.py              turns a page into a picture
rows.py                the rows of a shot
served.py              the sounds that a shape serves, each with a word in which it is heard, as a mouth chart names
                       them
sheet_job.py           what a sheet needs to know of one shot
sheet_settings.py      how a studio wants its sheets
sheet_words.py         every word that the program prints on paper
side_by_side_page.py   another mouth set or other settings beside the present ones, as one page to pin up and decide
                       from
side_by_side_parts.py  what two ways differ in, drawn
signs.py               signs that stand in more than one place
spreadsheet.py         writes tables as a workbook for spreadsheets (Office Open XML, ECMA-376)
svg.py                 reads a studio's SVG picture as outlines
timed_text.py          A shot's words and pieces as timed text (WebVTT, W3C), for players and editors
track_data.py          A shot's track as data
weigh_page.py          fittings against visual cost as a page
worth_page.py          which pieces are worth making, as pages
"""
