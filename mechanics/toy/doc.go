// Package toy reads a toy that is described as text, the block `toys:` of a
// worksheet, into an assembly on its stand, writes it back, and gives the values
// that questions ask for: its mass, centre of gravity, inertia and period.
//
// Values are written with units, and may be formulas over a worksheet's
// parameters. Everything that is handed out is in SI units. It knows nothing of
// questions or notebooks.
package toy
