"""The shop: what is to be done, when it is done, and when it is ready."""
