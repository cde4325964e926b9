"""CueSheet and clips -> audio file."""
