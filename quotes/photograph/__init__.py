"""From a photograph of paper pieces among printed cards to their outlines in millimetres, each with how far it may be off.

The question: where do the edges of these pieces run, and can this picture be trusted to say it?
"""
