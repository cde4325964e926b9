"""Session and results -> splits, on the clock."""
