"""A coach's answer: one file with the recording, what was worked out of it, what the coach says, and one drill."""
