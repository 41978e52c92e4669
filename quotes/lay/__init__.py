"""The lay: pieces on cloth of a fixed usable width, using as little length as can be found in the time given.

The question: how much cloth does this cut take, and where does each piece lie?

Words: *width* is across the cloth and fixed, *length* runs along the selvedge and is what is bought. The warp runs
along x, from 0 to `length`; y goes across, from 0 to `width`. *Density* is the pieces' area over width × length.
"""
