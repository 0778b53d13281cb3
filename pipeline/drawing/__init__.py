"""From a lace to pictures without words: chart, step pictures, the worked piece.

``outline`` makes paths, ``picture`` is what is drawn (few kinds of item, already placed), ``lettering`` writes figures,
``glyphs`` draws symbols. ``strands`` (rays) and ``working`` (the thread of each round) turn a lace into threads on
paper, ``whole`` all of it into layers; ``slice`` is a part of the wheel set upright, ``marks`` are what several
pictures share. Of these ``chart`` with its ``ladder``, ``steps`` with ``fan``, ``measure`` and ``locator``, ``sector``,
``portrait``, ``swatch``, ``mat`` and ``template`` with its pages (``truesize``) compose pictures; ``album`` all of a
leaflet, ``gallery`` those of several patterns. ``logo`` and ``squarecode`` draw what comes from a publisher.
``ink`` finds where items lie, ``moving`` and ``mirror`` put them elsewhere and turn them over, ``repeats`` finds what
comes again and again, ``legibility`` measures glyphs. ``operators``, ``export`` and ``inline`` write a picture as PDF
operators, as a file and for a page of HTML; ``player`` tells the way of the thread to a screen.
Everything in mm on paper, y upward, origin at the lower left; only Western digits and a unit are ever written.
"""
