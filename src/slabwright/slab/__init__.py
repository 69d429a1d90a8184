"""Survey, seat, patch, shims, passes: the rough slab becomes a flat blank."""
