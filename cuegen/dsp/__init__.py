"""Signals: resampling, loudness, true peak, limiting and decoding."""
