"""Shop sheets for the whole job on paper: the way to work on when nothing else does."""
