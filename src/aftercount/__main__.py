"""`python -m aftercount`: the command line."""

from aftercount.cli import main

if __name__ == "__main__":
    main()
