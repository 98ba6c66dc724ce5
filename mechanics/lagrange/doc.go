// Package lagrange derives the equations of motion of a mechanical system from
// its kinetic and potential energy in generalised coordinates, finds what the
// motion conserves and where the system rests, and linearises it about rest.
//
// A [System] holds the energies as expressions; [System.Derive] gives the
// [Equations] M q” = F, symbolic and ready to compile. Units are SI base
// units, angles in rad. The package integrates nothing (motion does) and knows
// nothing of shapes, worksheets or files.
//
// Source of the method: Goldstein, Poole and Safko, Classical Mechanics
// (3rd ed.), chapters 1, 2, 6 and 8.
package lagrange
