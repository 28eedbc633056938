"""Shapes that several rooms work with: frames, directions, stands, channels, solids."""
