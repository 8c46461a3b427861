"""Floor 0, standard library only: source text, findings, names, console, files."""
