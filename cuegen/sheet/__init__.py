"""CueSheet <-> JSON, CSV, Markdown, WebVTT, printable HTML."""
