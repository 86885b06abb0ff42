"""How a player came along: pure functions of the reps that the store holds."""
