"""From a lace to a leaflet: what each page shows, already translated, and the markup for it.

``papers`` holds sizes, ``compose`` makes the ``Leaflet`` (all words are there), ``steps`` its steps, ``markup``
fills the templates beside it, which hold no words.
"""
