"""CueSheet and report -> HTML."""
