"""`python -m seamcheck`."""

from seamcheck.cli import main

if __name__ == "__main__":
    main()
