"""Fitting: from phonemes in time to the piece on every frame, and how many pieces that takes."""
