"""When-then rules over facts, fired in a fixed order, every firing kept as a step that can be read again.

Nothing is imported here: the engine behind it is loaded only by `lugwright.chaining.engine`.
"""
