"""Encryption on the local network: this computer's own authority, what it vouches for, and how a device trusts it."""
