"""The commands, by what they are for. They parse, call the pipeline and print; nothing is decided here."""
