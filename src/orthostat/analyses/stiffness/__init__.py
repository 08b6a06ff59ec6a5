"""How far a column bends, where it rings, how deep one may cut: 3D elasticity on its joint.

In come parts of weighted prisms, the joint's springs, stations, cut forces; out come movements, modes with
damping, dynamic compliance, limit depths, growth and lean, for one fineness of the mesh at a time.
"""
