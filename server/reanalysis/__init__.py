"""A whole archive of recordings worked out anew."""
