"""Runs the command line as ``python -m sawready``."""

from sawready.cli.main import main

if __name__ == "__main__":
    main()
