"""Published tables as data files, each row with its source; look-ups only."""
