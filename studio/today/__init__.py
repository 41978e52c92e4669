"""Today: what needs a hand, from all three floors; and the answer to a request that cannot be read."""
