"""Words heard in speech: pronunciations, word networks, forced alignment in other processes."""
