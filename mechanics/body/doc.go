// Package body answers what a rigid figure weighs, where its centre of gravity
// lies and how it resists being turned: shapes, materials, and assemblies of
// placed parts.
//
// Lengths are in m, masses in kg, moments of inertia in kg m², angles in rad.
// x points to the right, y up and z towards the viewer; flat shapes lie in the
// x-y plane and face the viewer, standing shapes rise along y. It knows nothing
// of supports, drawings or worksheets, but gives the outline of every part.
package body

import "gonum.org/v1/gonum/spatial/r3"

// A Vec is a point or direction in space.
type Vec = r3.Vec

// V returns the vector (x, y, z).
func V(x, y, z float64) Vec { return Vec{X: x, Y: y, Z: z} }
