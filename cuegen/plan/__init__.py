"""Plan file -> Session."""
