"""Swings as files for other programs: tables and the formats of motion laboratories."""
