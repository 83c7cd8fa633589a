"""Pieces with their words on, flat and as they will be seen once folded."""
