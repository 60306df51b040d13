"""One lot back to its suppliers and forward to its customers: the page, the diagram, the exports.

It reads only; it has no table of its own.
"""
