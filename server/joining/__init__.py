"""How others get in: who they are, what they may do, and what keeps everybody else out."""
