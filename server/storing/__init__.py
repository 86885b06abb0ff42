"""A practice that was recorded comes into the store by itself: afterwards, and in a process of its own."""
