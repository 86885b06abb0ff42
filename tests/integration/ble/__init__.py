"""A stand for the radio without a radio: virtual sensors behind a BlueZ-shaped D-Bus service, or on a virtual controller."""
