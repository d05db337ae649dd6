"""Pictures of a piece, drawn from its plan: seen from a little above, cut, unrolled, from above."""
