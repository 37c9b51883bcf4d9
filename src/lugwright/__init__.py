"""Lugwright: why does this rubber belt wear the way it does, how sure are we, and what settles it?

The whole path stands on one page in `lugwright.triage`. Nothing heavy is imported here.
"""

__version__ = "0.1.0"
