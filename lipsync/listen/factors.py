"""Voice factors: those that are tried, and those that may be set by hand (what one is: `voice.py`)."""

# Chosen: steps of 15 % over the range met, 1 in the middle; the best factor lies between them.
FACTORS = (0.56, 0.65, 0.75, 0.87, 1.0, 1.15, 1.32, 1.52, 1.75)

LEAST_FACTOR, MOST_FACTOR = 0.5, 2.0  # chosen: voices met need 0.7 to 1.7
