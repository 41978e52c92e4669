"""What the bench's and the books' pages show, put into words."""
