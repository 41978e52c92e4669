"""Constructions: how a garment is put together, as data that a maker copies and edits.

The question: which layers are cut, how are they sewn to each other, where do bones run, what closes and edges it?

Words: a *layer* is a cloth in a role; a *shell* is one or more layers whose seams are sewn as one; a *pass* is one run
of the machine along a seam (a seam sewn twice, 3 mm then 2 mm, is the trade's lock stitch: `double_pass`); a *channel*
is the space of a bone. Shipped constructions are the files in `shipped/` (common practice).
"""
