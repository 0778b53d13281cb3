"""From a lace to pictures without words: chart, step pictures, the worked piece.

``outline`` makes paths, ``picture`` is what is drawn (few kinds of item, already placed), ``glyphs`` draws symbols,
``strands`` turns a lace into threads on paper, ``chart``, ``steps`` and ``portrait`` compose pictures of them, and
``operators`` and ``export`` write a picture as PDF operators or as a file. Everything in mm on paper, y upward,
origin at the lower left; only Western digits and a unit are ever written in a picture.
"""
