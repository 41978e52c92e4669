"""Documents of a quote: what the client reads and what the workroom keeps, made from a snapshot alone.

The question: what was promised, and what is it made of?

A *snapshot* is the frozen state of a quote revision: plain data with a schema version. Page, PDF and workbook read
nothing else, so no later price, minute or pattern changes a document that was sent.
"""
