"""Practices of several computers on one coach's board: what they tell and ask each other, over a bus."""
