"""The top: from the flat board to a machined one. Where the piece lies in the slab, what is let into it, how it moves."""
