"""`python -m seamcheck`."""

from seamcheck.cli.main import main

if __name__ == "__main__":
    main()
