"""Run the command line: ``python -m personalize``."""

from personalize.cli import main

if __name__ == "__main__":
    main()
