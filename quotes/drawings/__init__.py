"""Drawings made by the server: SVG as text, dressed by the page."""
