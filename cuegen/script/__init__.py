"""Session on the clock -> candidate cues."""
