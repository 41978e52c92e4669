"""What the shelf's pages show, put into words."""
