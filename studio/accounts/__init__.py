"""A delivered piece's account: gathered from quote, ledger, time and invoice, kept until its month is closed."""
