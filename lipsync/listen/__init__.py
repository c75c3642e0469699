"""Listening: from a recording and its text to words and phonemes in time."""
