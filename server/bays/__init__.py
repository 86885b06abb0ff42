"""Several practices in one service: each in a bay, found by its name."""
