"""What `run.py` does: make `.venv` from the hashed locks, then run one thing inside it.

Standard library only, because it runs before anything is installed. It knows nothing of columns.
"""
