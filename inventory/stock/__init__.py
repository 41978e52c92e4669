"""Materials, items and lots, and the one way in which stock moves: the ledger and its audit."""
