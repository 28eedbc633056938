"""What the bench does: weigh, buy, pour, wait; the copy's size and heat, and what meets what."""
