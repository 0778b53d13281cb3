"""From a lace to pictures without words: chart, step pictures, the worked piece.

``outline`` makes paths, ``picture`` is what is drawn (few kinds of item, already placed), ``glyphs`` draws symbols.
``strands`` (rays) and ``working`` (the thread of each round) turn a lace into threads on paper, ``marks`` are what
several pictures share; ``chart`` with its ``ladder``, ``steps`` with ``fan`` and ``measure``, ``sector``, ``portrait``,
``mat`` and ``template`` compose pictures of them, ``album`` all of a leaflet. ``mirror`` turns pictures over,
``legibility`` measures glyphs, ``operators`` and ``export`` write a picture as PDF operators or as a file.
Everything in mm on paper, y upward, origin at the lower left; only Western digits and a unit are ever written.
"""
