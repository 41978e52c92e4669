"""Pricing: from materials and minutes to a price that keeps a margin or a wage, to the minor unit.

The question: what must be asked so that it pays, and what does each part of the price stand for?

Words: *cost* is materials + labour + overhead + contingency + extras; *net* is the price without tax, *gross* with it;
the *fee* is what the payment takes of the gross; *profit* is net less cost and fee. The *floor* is the wage per hour
that the piece must earn.
"""
