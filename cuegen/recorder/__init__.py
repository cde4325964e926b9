"""The recorder: a page served to this machine alone, which puts one take a line into a folder."""
