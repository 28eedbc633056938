"""Which way it parts: draw, box, parting line, undercuts and what to do about them."""
