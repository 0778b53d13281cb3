"""From a lace to a leaflet: what each page shows, already translated, and the markup for it.

A pattern that is ``Told`` in a locale becomes plain data, and only there stand words:

- ``compose`` makes the ``Leaflet`` (``content``): its ``steps``, its ``facts``, its ``imprint``, and by ``assembling``
  mats and sizes. ``wordless`` takes the words out again; ``metadata`` is what it says to programs.
- ``printed`` makes the ``Printed`` catalogue (``entries``), ``gallery`` what a site shows beside leaflets,
  ``universal`` the key in all languages.

The templates beside these modules hold no words: ``markup`` fills those for a paper (``papers``), ``screen`` those for
screens.
"""
