"""What a client reads and does at a private link to a sealed offer."""
