"""The first day: an empty workroom opened on its own machine, with rates and a starter list of prices from memory."""
