"""What to order by when, and orders to suppliers."""
