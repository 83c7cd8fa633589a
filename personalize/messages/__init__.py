"""Rows of a spreadsheet, read as they are seen, and the words that they put on pieces."""
