"""Floor 1, numbers only: units, values, intervals, what is still free, least squares, comparison."""
