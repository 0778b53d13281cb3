"""Two editions of a pattern side by side: what changed from one to the other.

``rounds`` pairs their rounds, ``comparing`` makes the ``Comparison``. No words: they stand in ``commands.editions``.
"""
