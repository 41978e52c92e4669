"""The shelf's settings: whose it is, its currency, how stock is valued, until when its books are closed."""
