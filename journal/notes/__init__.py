"""Floor 3, text to raw records with spans: the slip table, lines, statements, notes."""
