"""Line -> finished clip."""
