"""The balance of mass of any item over any period."""
