"""Paper: from plans and counts to pages and files. Where a mark goes is decided here; pdf.py only draws it.

The stages of an exposure sheet, from a shot to marks:

sheet_settings.py      how a studio wants its sheets
sheet_words.py         every word that the program prints on paper
sheet_job.py           what a sheet needs to know of one shot
beats.py               strong beats: frames on which head and brows may move
cells.py               what a row says of one character
rows.py                the rows of a shot: what is printed, as text, and its stamp
measures.py            how wide the texts of a shot's sheet are
needs.py               the least width of each column, and the width that it would like
page_forms.py          sizes of paper, and the forms in which a sheet is printed on them
page_breaks.py         which frames are on which page
columns.py             where each column is on one kind of page
choosing.py            which kind of page a shot is printed on
exposure.py            the exposure sheet of a shot, from all of these
sheet_measures.py      the measures of its page, by name
heading.py             the heading of a page
alerts.py              what must be known before anything on a page is used
grid.py                rules, heads of columns, boxes to tick, and each row's numbers
block.py               one character's column
parts_on_sheet.py      parts that are listed by hand, in their columns
notes.py               the rows on which notes on modelling are printed, and those that name a held piece again
signs.py               signs that are drawn in more than one place
foot.py                the foot of a page: what to ask, what signs mean, the stamp
last_page.py           everything to ask that had no room on its page

Other pages:

flow.py                pages of a report: blocks set one below the other
plot.py                curves and points over two axes
chart_page.py          the mouth chart of a character
chart_tiles.py         its tiles: a shape, its pieces, and the sounds that it serves
label_sheets.py        sheets of labels by their geometry
label_page.py          labels set on such sheets
label_tile.py          one label
board_page.py          the board of a puppet for a scene, to lay its pieces out on
measuring_page.py      how the numbers of a mouth set are measured on its pieces
measuring_figures.py   drawings of where callipers are put
count_page.py          the count as pages
overview_page.py       the state of a production as one page to hang on the wall
order_job.py           what the pages of an order need to know
order_page.py          the order for the puppet workshop as pages
making_page.py         what an order takes to make, and what is to be made for each scene, puppet, week or character
weigh_page.py          fittings against visual cost as a page
making_looks.py        what each set of pieces takes to make, against the visual cost of its tracks
worth_page.py          which pieces are worth making, as pages
side_by_side_page.py   another mouth set or other settings compared with the present ones, as one page to decide from
side_by_side_parts.py  its strips and tiles, which show where the two ways differ

Letters, pictures and files:

marks.py               what a printed page is made of, and where each mark lies
lettering.py           text that fits
mouth_drawing.py       a clean drawing of a mouth from what its lips do
piece_pictures.py      the picture of each piece: the studio's own, or that drawing
svg.py                 reads a studio's SVG picture as outlines
pdf.py                 draws marks as PDF, decides nothing
raster.py              turns a page into a picture
csv_table.py           a table as CSV (RFC 4180, UTF-8)
spreadsheet.py         tables as a workbook (Office Open XML, ECMA-376)
track_data.py          a shot's track as CSV and JSON
plain_text.py          a shot's sheet as plain text, for a terminal
timed_text.py          a shot's words and pieces as timed text (WebVTT, W3C)
subtitles.py           what is said as subtitles, SRT and WebVTT
"""
