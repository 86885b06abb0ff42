"""A recording worked out as a whole: every instant to Parquet, every rep to JSON."""
