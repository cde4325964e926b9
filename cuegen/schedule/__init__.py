"""Candidate cues and the lengths of their lines -> CueSheet."""
