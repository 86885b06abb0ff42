"""What the pipeline says."""
