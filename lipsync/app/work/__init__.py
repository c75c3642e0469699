"""Work shared out: among the cores of this machine, other machines, and two runs on one production.

workers.py    work shared out
processes.py  workers on this machine
cluster.py    workers on other machines
in_hand.py    what a run has in hand, so that another leaves it alone
sparing.py    a fault of the program's own in one of many, told as that one's
"""
