"""Every module here with a ``command`` is a command of the same name (``import_`` is ``import``)."""
