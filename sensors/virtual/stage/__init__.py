"""The model golfer on demand: acts made one after another, sampled by two boards as time goes by."""
