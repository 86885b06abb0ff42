"""A recording that is played under somebody's hand: on, back, slowly, over and over."""
