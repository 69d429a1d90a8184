"""The bench pages: the whole job in a browser. Thin: they show what `plan()` works out, and write to the shop book."""
