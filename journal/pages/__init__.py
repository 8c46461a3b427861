"""Floor 6, the book as a site, in memory: addresses, views, drawings, search, pictures, theme, render."""
