"""The drawer of bones: how many lie there by length and form, what open work leaves of them, what would do instead."""
