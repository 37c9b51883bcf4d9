"""`python -m lugwright` is the command `lugwright`."""

from lugwright.cli import main

if __name__ == "__main__":
    main()
