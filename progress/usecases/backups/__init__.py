"""Keeping every record in one file, and bringing it back, on either database."""
