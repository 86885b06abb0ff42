"""Giving sensors their places: which are in reach, which one is being moved, who is worn where."""
