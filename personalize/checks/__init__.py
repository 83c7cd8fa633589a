"""What is proved of every run: cut path, ink inside safe zones, every word kept."""
