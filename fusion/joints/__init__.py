"""The wrist."""
