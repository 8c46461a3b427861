"""Floor 5, what follows from the model, never changing it: records, positions, order, findings."""
