"""A practice on paper: two pages to take along."""
