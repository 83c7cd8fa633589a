"""Fonts: the bundled catalogue, a maker's own files, and HarfBuzz behind one door."""
