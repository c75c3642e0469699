"""What is in the can and what is on paper: locked frames, revisions of sheets, what changed, a shot's packet."""
