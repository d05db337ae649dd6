"""Templates to print at full size: segments, rings, profile cards, stems, tiled on paper."""
