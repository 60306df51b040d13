"""One week: what is short, what stands already, the proposal and its pages."""
