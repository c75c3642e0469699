"""The program's version, for all who must know whether a result is of today."""

VERSION = "0.1.0"
