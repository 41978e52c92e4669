"""What passes between maker and client: fittings, changes, payments, photographs, delivery."""
