"""Sheets: paper and working area, places for pieces, marks, rules and slug."""
