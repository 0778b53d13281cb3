"""The commands, a module for each thing they are about.

What is heavy (drawing, languages, typesetting) is imported by the command that needs it.
"""
