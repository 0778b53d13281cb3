"""Two editions of a pattern side by side: what changed from one to the other.

``rounds`` pairs their rounds, ``comparing`` makes the ``Comparison``. Neither has words: they stand in ``wording``.
"""
