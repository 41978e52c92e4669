"""How the shelf reckons: what stock is worth, what deliveries cost, how counts are weighed, what will lie there. Pure."""
