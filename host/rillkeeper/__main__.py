"""`python -m rillkeeper` is the same as `rillkeeper`."""

from rillkeeper.cli import main

if __name__ == "__main__":
    main()
