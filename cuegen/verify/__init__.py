"""Audio file and CueSheet -> listening report."""
