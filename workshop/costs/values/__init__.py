"""What lots cost: paid for, made of others, dried; a few of them exactly, or all at once."""
