"""Sheets: from tracks and counts to printed pages."""
