"""`python -m journal`."""

from journal.cli import main

if __name__ == "__main__":
    main(prog_name="journal")
