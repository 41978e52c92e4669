"""Lays searched for in the background: asked for on the page of a quote, drawn by a worker, made shorter in idle time."""
