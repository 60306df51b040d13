"""One page with every part that pages are made of."""
