"""Several parts in one box: how they lie beside each other, and what that saves."""
