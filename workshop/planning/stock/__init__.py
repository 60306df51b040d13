"""What can be planned with, for how long it lasts, and what will expire unused."""
