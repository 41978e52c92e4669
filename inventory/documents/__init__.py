"""Documents of the shelf: what goes out on paper or as a file, and comes back filled in."""
