"""`python -m slabwright`."""

from slabwright.cli import main

main()
