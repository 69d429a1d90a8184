"""The base: steel sections, the frame and how it stands, what to cut it from, how to weld and drill it."""
