"""The club shaft."""
