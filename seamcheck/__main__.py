"""`python -m seamcheck`."""

if __name__ == "__main__":  # processes that judge some of the files import this module too, and need no commands
    import sys

    if not sys.flags.safe_path:
        # Python looks for modules in the folder that it is started in first; what lies there may be a supplier's.
        del sys.path[0]
    from seamcheck.cli.main import main

    main()
