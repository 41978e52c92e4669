"""Use over time: what is expected to be used, when to order again, what the shelf as a whole is worth."""
