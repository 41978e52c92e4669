"""What a client reads, in their language: messages by catalogue; amounts, days and shares as that language writes them."""
