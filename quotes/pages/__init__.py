"""What each page receives: frozen dataclasses with figures already written out, so that templates only lay them out."""
