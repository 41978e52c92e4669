"""The seal: what a quote came to, typed. Every paper, page and account of a quote reads it here and nowhere else.

A *snapshot* is all of one revision: letterhead, rates, pattern, constructions, the priced options, drawings. Sending a
revision seals its document; the fingerprint shows that it has not changed. Lengths mm, areas mm², minutes, Decimal money.
"""
