"""The order desk: orders kept, revised, answered, released once, and checked when the frames arrive.

The use cases between ``web`` and ``store``. They know no HTTP: what they refuse is a ``RefusedError``.
"""
