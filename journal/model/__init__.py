"""Floor 4, the one truth: parts, selves, readings, places, states by date."""
