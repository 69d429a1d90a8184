"""What the project claims, measured: `make bench`."""
