"""The coach's own recordings of lines, and the finished clips made of them."""
