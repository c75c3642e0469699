"""The program's version. It is a part of the code of every kept result: an update computes them again."""

VERSION = "0.1.0"
