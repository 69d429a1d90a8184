"""Scripts that make a book and bring an older one up to date; once released, one is never changed."""
