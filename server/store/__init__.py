"""Practices remembered across days, in a database that is filled from their recordings."""
