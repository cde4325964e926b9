"""How long things take and how much memory they need: `python -m tests.bench`."""
