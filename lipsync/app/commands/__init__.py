"""The commands: they parse and print, and call the use cases; nothing else.

command_line.py      what the commands share: common arguments, and how answers are printed
main_commands.py     start a production, listen, print sheets, count, see it at work
take_commands.py     lists, edits, scripts and recordings taken in, and given out again
fit_commands.py      why, charts, the order, and curves to decide from
label_commands.py    labels, and boards to lay pieces out on
film_commands.py     what is in the can
print_commands.py    what was printed, packets, tracks as data
preview_commands.py  movies
desk_commands.py     the listening desk
"""
