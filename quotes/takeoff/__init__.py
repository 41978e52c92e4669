"""The takeoff: what a garment takes, counted and measured from its pattern and construction.

The question: which pieces are cut, how much of each material goes in, and how much work is there to do?

Words: *use* is what the garment consumes with its waste, *buy* is the use rounded up to what is sold; the rest of a
purchase stays stock. Every line says what was counted, by which formula, with what waste and what rounding.
Lengths in mm, areas in mm², whole garment unless a name says otherwise. Sources stand with each figure.
"""
