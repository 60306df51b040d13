"""The arithmetic of the trade: pure functions, no Django, nothing read or written."""
