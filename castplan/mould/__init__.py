"""The mould itself: halves, keys, boards, bed, ways out of it, and the proof that it opens."""
