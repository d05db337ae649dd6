"""What the store says no to. None of these knows a status code."""


class StoreError(Exception):
    """The store cannot do this; the message is for the user to read."""


class StoreRefused(StoreError):  # noqa: N818 - it is what happened, not an error in the program
    """The data folder or database cannot be opened as it is."""


class NotSaved(StoreError):  # noqa: N818
    """A write did not reach the disk; nothing of it was kept."""
