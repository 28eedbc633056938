"""A file becomes a part: read, joined, checked, mended; how large it is and which face shows."""
