"""The craft model: from a pattern as written to a lace as computed, and whether it can be worked.

``thread`` and ``loom`` hold the material, ``web`` lays it, ``stretch`` keeps what each ray can still give,
``stitches`` works one round, ``assembly`` works them all into a ``Lace``, ``figures`` tells it in numbers and
``check`` does for a file what the command does. Lengths in mm, angles clockwise from the top in radians,
points as complex numbers: the real part points up, the imaginary part to the right, so that a point's phase is
its angle. No drawing, no words.
"""
