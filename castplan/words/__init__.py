"""Records in words and rows, the same for paper, view, page and terminal."""
