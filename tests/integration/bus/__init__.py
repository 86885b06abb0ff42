"""Helpers of the tests of the bus: a real NATS server of their own."""
