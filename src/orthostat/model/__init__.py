"""What the documents mean, in SI: machine, tools, faces, solids-to-be, stations.

Frozen, hashable, pure Python. A field that the shop did not state is `None`; nobody fills it in.
"""
