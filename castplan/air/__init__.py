"""Where air stays: how the mould stands, high points, gate and riser, filling, rocking."""
