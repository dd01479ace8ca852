"""The command line: thin, with no computation. One file in ``commands`` is one command."""
