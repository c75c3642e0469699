"""Shots made by a seeded hand, and pages read back: the same as for sheets."""

from tests.paper.conftest import make_job, read

__all__ = ["make_job", "read"]
