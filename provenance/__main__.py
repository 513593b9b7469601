"""``python -m provenance``: the command line, for where the command itself is not on the path."""

from provenance.cli import main

if __name__ == "__main__":
    main()
