"""What is kept for which work, what of the stock is free, and whether work can start."""
