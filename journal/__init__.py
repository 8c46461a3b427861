"""A photo-and-measurement build journal: dated folders in, a searchable static site out."""

__version__ = "0.1.0"
