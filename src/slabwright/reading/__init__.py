"""Readings by hand: stations, the readings begun, and the conversation at the bench."""

from slabwright.reading.conversation import enter_check, read_by_hand

__all__ = ["enter_check", "read_by_hand"]
