"""Patterns: from a file or from body measurements to panels with named edges, in millimetres.

The question: what are the panels of this garment, and do they fit each other?

Words: a *pattern* is one half of the garment, panels 1 (centre front) to n (centre back). A *panel* is its
*stitching line* with four *edges*: front, back, top, bottom. *Seam* i joins the back edge of panel i to the front edge
of panel i + 1. The *waist* is a level in each panel. The *cut line* lies outside the stitching line by the seam
allowance of each edge.

Axes: seen from outside on the wearer's left half, x grows from centre front to centre back, y upwards; millimetres.

The way in: a reader turns a file into a `Drawing` (lines as drawn), `assemble` turns that into a `Pattern` (edges told
apart, seams trued).
"""
