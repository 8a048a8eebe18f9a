"""`python -m seamcheck`."""

if __name__ == "__main__":  # processes that judge some of the files import this module too, and need no commands
    from seamcheck.cli.main import main

    main()
