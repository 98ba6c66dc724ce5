package body

// A Block is a cuboid about the origin.
type Block struct {
	X, Y, Z float64 // sides, m
}

// Check implements [Shape].
func (b Block) Check() error {
	return measured("block", "side x", b.X, "side y", b.Y, "side z", b.Z)
}

// Geometry implements [Shape]. Source: check-values I4.
func (b Block) Geometry() Geometry {
	return Geometry{b.X * b.Y * b.Z, Vec{}, facing(b.X*b.X/12, b.Y*b.Y/12, b.Z*b.Z/12)}
}

// Drawing implements [Shape].
func (b Block) Drawing() []Line {
	var points []Vec
	for _, x := range [2]float64{-b.X / 2, b.X / 2} {
		for _, y := range [2]float64{-b.Y / 2, b.Y / 2} {
			points = append(points, V(x, y, -b.Z/2), V(x, y, b.Z/2))
		}
	}
	return []Line{{Kind: Hull, Points: points}}
}
