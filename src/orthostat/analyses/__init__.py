"""The analyses: frozen inputs in, frozen results out, no I/O.

They never call one another; results of solids and loads arrive inside the inputs.
"""
