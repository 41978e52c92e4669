"""The books: what pieces earned, one by one and together, and months that are closed."""
