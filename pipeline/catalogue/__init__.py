"""From checked files to finished leaflets: pictures once a pattern, pages once a locale.

``make`` makes the leaflets of one pattern.
"""
