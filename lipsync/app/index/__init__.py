"""What was found out of which files, so that nothing is done twice; and which program it is.

production_index.py  what was found out of which files, so that nothing is done twice
own_files.py         which program it is: codes of its version and of its own files
"""
