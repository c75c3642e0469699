"""A production as people write it: its values, how its files are read, and how one is begun."""
