"""The finished piece in space: meshes of its parts and rings, and the form as one closed body."""
