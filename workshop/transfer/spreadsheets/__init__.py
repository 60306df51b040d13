"""Spreadsheets taken in: read, understood by their columns, tried, and written all or none."""
