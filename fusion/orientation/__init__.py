"""From angular rate and specific force to orientation."""
