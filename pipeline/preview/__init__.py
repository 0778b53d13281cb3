"""The live preview: a page on this machine that follows the files of a workspace while they are written.

``choice`` what is looked at, ``trial`` a pattern on another loom or in other threads without touching its file,
``surroundings`` what leaflets of the workspace are made with, ``room`` the steps from a file to pages, ``worker`` the
one thread that takes them, ``watching`` files that change, ``server`` the page and whom it is shown to.
"""
