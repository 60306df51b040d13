"""Where things stand in the stores, and how they are counted."""
