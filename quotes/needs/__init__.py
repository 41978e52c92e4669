"""What a quote needs of the shelf: kept softly or firmly, what is missing, which remnants would do."""
