"""Thin commands over the public functions of the package."""
