"""Designs: an SVG and its TOML, made into lines, panels, safe zones and artwork."""
