"""Learns again how long phonemes last: `python tests/learn_durations.py` prints the table of align/durations.py.

Needs flite, a program that speaks. Its voices slt, rms and awb were made from recordings of people who read aloud
(CMU ARCTIC, free of charge and of conditions), and last as they do; what is printed holds for what they make of the
sentences below. Mean and spread are those of the logarithm.
"""

from __future__ import annotations

import math
import statistics
import subprocess
from collections import defaultdict

VOICES = ("slt", "rms", "awb")
ARPABET = {"ax": "AH", "pau": "SIL"}  # flite's names of phones that ARPAbet calls otherwise
SHORTEST_S = 0.004

SENTENCES = """
The heron keeps the lamps along the harbour wall.
She was awake before the first boat came home.
Nobody sends a parcel to an island in winter.
The crab weighed every letter twice and shook his head.
I thought you said the oil would last until Thursday.
Put the big box on the shelf above the stove, please.
We usually measure the tide by the third step.
How much does it cost to post a bicycle?
A long blue rope hung from the window of the office.
He could hear the bell, but he couldn't see the buoy.
Those children have thrown their shoes into the water again.
Watch out for the ledge, it's slippery after the rain.
Yes, of course I remember where you were standing.
Give the young gull her breakfast and a dry towel.
The judge in the village never changed his mind.
Every night she climbs the ladder with a can of oil.
Why would anybody choose to live under a wharf?
This one is for Mister Pike, and that one is for you.
The fog came in so thick that the lamps looked like pearls.
Do you always sing when you sort the mail?
Her father taught her to trim a wick with one claw.
It was a pleasure to travel by the slow ferry.
Don't leave the door open, the wind takes the stamps.
They brought forty pounds of flour and a bag of nails.
Boys and girls enjoy noisy toys, the crab complained.
A bird with wet feathers cannot fly very far.
Half past nine is rather late for a lesson.
The old clock stopped at noon and no one noticed.
Show me the key that fits the little green chest.
I would have gone, but the bridge was already closed.
Her cousin mends nets, and her uncle builds boats.
You should pull the rope, then push the lever down.
What a peculiar sound that engine makes!
Sixteen thin candles were burning on the shelf.
The queen of the rock pool was a very small shrimp.
Somebody took the cushion from the captain's chair.
It is either too early or much too late to argue.
Good morning, said the postman, there's a parcel for you.
Please push these heavy boxes together by the hedge.
Could you look at the hook above the wooden door?
The vision of a huge ship vanished in the haze.
He chews bread, cheese and onions for his lunch.
Nothing is worth more than a lamp on a dark night.
The path goes down through the garden to the beach.
Who knows whether the weather will change before Monday?
She laughed, and the whole pier laughed with her.
I owe you an apology and a pair of yellow gloves.
Our house stands where the road turns toward the sea.
The thief gave back the ring and the silver spoon.
Both of them breathe more easily in the cold air.
Let us get the ladder and fix the lamp at once.
A few drops of oil on the hinge will cure that noise.
My aunt arrived by train with nine large trunks.
The noise of the foghorn annoys the oysters.
Stay where you are and hold the lantern high.
Are you sure there's enough sugar in the jar?
He bought a cheap watch, and it ran for a year.
The shepherd wore a rough coat and no shoes.
Two tired travellers asked for a bed and some soup.
In autumn the geese fly over our chimney.
Look, the moon is as round as a copper coin.
That was the strangest thing I've ever heard.
Bring me paper, a pencil, and the sharpest knife.
They argued about the route for an hour and a half.
Perhaps the letter was lost between the cushions.
She put the brush in the bucket and began to scrub.
Father says the garage will open in a month or two.
We watched the waves wash over the wall all evening.
Only the youngest pupil understood the puzzle.
Keep your voice low, the baby crab is asleep.
"""


def spoken(voice: str, sentence: str) -> list[tuple[str, float]]:
    """Return each phone and how long it lasts, in seconds."""
    command = ["flite", "-voice", voice, "-psdur", "-t", sentence, "-o", "none"]
    pairs = [
        pair.split(":") for pair in subprocess.run(command, check=True, capture_output=True, text=True).stdout.split()
    ]
    ends = [float(end) for _, end in pairs]
    lasts = [end - start for end, start in zip(ends, [0.0, *ends], strict=False)]
    return [(ARPABET.get(phone, phone.upper()), length) for (phone, _), length in zip(pairs, lasts, strict=True)]


def main() -> None:
    """Learn and print."""
    logs: dict[str, list[float]] = defaultdict(list)
    for voice in VOICES:
        for sentence in SENTENCES.strip().splitlines():
            for phone, length_s in spoken(voice, sentence):
                if phone != "SIL" and length_s > SHORTEST_S:
                    logs[phone].append(math.log(1000 * length_s))
    for phone in sorted(logs):
        mean, spread = statistics.fmean(logs[phone]), statistics.pstdev(logs[phone])
        print(f"{phone:3} {round(math.exp(mean)):4} {spread:.2f}   # of {len(logs[phone])}")


if __name__ == "__main__":
    main()
