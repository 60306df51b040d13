"""Buying and the week, as the people of the demo use it."""
