"""Spokeleaf: from a wheel-lace pattern file to a leaflet that needs no shared language.

The line of carriers, each a frozen type made by one function and never changed afterwards:
text → ``Source`` → ``Pattern`` → ``Lace`` → ``Picture`` → ``Leaflet`` → markup → PDF bytes.
"""
