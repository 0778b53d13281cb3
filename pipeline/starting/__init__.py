"""Beginning something new: starting points, and how one is fitted to what a designer has and wants.

``points`` reads those that are shipped, ``wish`` is what was asked for, ``fitting`` tries counts and distances until a
pattern is without a problem, ``workspace`` has the files of a new workspace. No questions are asked here.
"""
