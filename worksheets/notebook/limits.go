package notebook

// Limits on what Read takes from outside.
const (
	// MaxBytes is the size of a notebook file. A class notebook with a hundred
	// plots is about 10 MiB; what is larger was not made for reading.
	MaxBytes = 64 << 20
	// MaxDepth is how deep JSON values may lie inside each other. A notebook's
	// own structure needs 8; metadata of other programs a few more.
	MaxDepth = 100
	// MaxCells is the number of cells; long books of notes have a few hundred.
	MaxCells = 20_000
)
