"""Data from elsewhere, as CSV and marks, made into a recording."""
