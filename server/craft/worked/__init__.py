"""A piece worked through: curves, slabs, ring geometry and places, for the plan and its checks."""
