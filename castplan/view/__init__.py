"""The picture to turn in the hand, as one HTML file."""
