"""Faults that show only when a whole, loaded rule base is read together: knowledge that cannot work as it stands.

Loading refuses what cannot be right in itself; here every entry is sound, and still a sign may lead nowhere, a rule may
never fire, two look-alikes may have no check between them. `lugwright.rulelint.run.lint` gives every such fault.
"""
