"""Virtual sensors on the air: peripherals of the open profile on a virtual controller, or behind a real one.

Needs Bumble, which comes with the extra `virtual`; nothing else in the program does.
"""
