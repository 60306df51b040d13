"""Buying and planning: demand, what to order when, and the week at the kettles."""
