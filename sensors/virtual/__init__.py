"""A golfer who is not there: swing model, sensor errors, packets."""
