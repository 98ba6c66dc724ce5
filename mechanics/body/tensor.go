package body

import (
	"fmt"
	"math"

	"gonum.org/v1/gonum/mat"
	"gonum.org/v1/gonum/spatial/r3"
)

// A Tensor is a symmetric 3×3 tensor by its elements. As a tensor of inertia,
// XY is minus the product of inertia ∫xy dm, so that the moment about an axis
// with unit vector n is nᵀIn.
type Tensor struct {
	XX, YY, ZZ, XY, YZ, ZX float64
}

// Plus returns t + u.
func (t Tensor) Plus(u Tensor) Tensor {
	return Tensor{t.XX + u.XX, t.YY + u.YY, t.ZZ + u.ZZ, t.XY + u.XY, t.YZ + u.YZ, t.ZX + u.ZX}
}

// Times returns f·t.
func (t Tensor) Times(f float64) Tensor {
	return Tensor{f * t.XX, f * t.YY, f * t.ZZ, f * t.XY, f * t.YZ, f * t.ZX}
}

// Trace returns the sum of the diagonal.
func (t Tensor) Trace() float64 { return t.XX + t.YY + t.ZZ }

// Along returns nᵀtn for the unit vector along n: of a tensor of inertia, the
// moment of inertia about an axis in direction n. It is NaN for a zero n.
func (t Tensor) Along(n Vec) float64 {
	n = r3.Unit(n)
	return n.X*n.X*t.XX + n.Y*n.Y*t.YY + n.Z*n.Z*t.ZZ + 2*(n.X*n.Y*t.XY+n.Y*n.Z*t.YZ+n.Z*n.X*t.ZX)
}

// Mul returns the vector t·v.
func (t Tensor) Mul(v Vec) Vec {
	return Vec{
		X: t.XX*v.X + t.XY*v.Y + t.ZX*v.Z,
		Y: t.XY*v.X + t.YY*v.Y + t.YZ*v.Z,
		Z: t.ZX*v.X + t.YZ*v.Y + t.ZZ*v.Z,
	}
}

// Rows returns t as three rows.
func (t Tensor) Rows() [3][3]float64 {
	return [3][3]float64{{t.XX, t.XY, t.ZX}, {t.XY, t.YY, t.YZ}, {t.ZX, t.YZ, t.ZZ}}
}

// Turned returns t of a body that was turned by r.
func (t Tensor) Turned(r r3.Rotation) Tensor {
	if isIdentity(r) {
		return t
	}
	rot := rotationRows(r)
	rows := t.Rows()
	var half, out [3][3]float64
	for i := range 3 {
		for j := range 3 {
			for k := range 3 {
				half[i][j] += rot[i][k] * rows[k][j]
			}
		}
	}
	for i := range 3 {
		for j := range 3 {
			for k := range 3 {
				out[i][j] += half[i][k] * rot[j][k]
			}
		}
	}
	return Tensor{out[0][0], out[1][1], out[2][2], out[0][1], out[1][2], out[2][0]}
}

func isIdentity(r r3.Rotation) bool { return r == r3.Rotation{} || r == r3.Rotation{Real: 1} }

// rotationRows returns the matrix of r; the zero value is no rotation.
func rotationRows(r r3.Rotation) [3][3]float64 {
	x, y, z := turn(r, V(1, 0, 0)), turn(r, V(0, 1, 0)), turn(r, V(0, 0, 1))
	return [3][3]float64{{x.X, y.X, z.X}, {x.Y, y.Y, z.Y}, {x.Z, y.Z, z.Z}}
}

func turn(r r3.Rotation, v Vec) Vec {
	if isIdentity(r) {
		return v
	}
	return r.Rotate(v)
}

// Principal returns the principal moments in ascending order and their axes as
// unit vectors that form a right-handed set. Where moments are equal, the axes
// are one choice of many.
//
// It is accurate to about 1e-15 of the largest moment.
func (t Tensor) Principal() (moments [3]float64, axes [3]Vec, err error) {
	rows := t.Rows()
	sym := mat.NewSymDense(3, nil)
	for i := range 3 {
		for j := i; j < 3; j++ {
			if math.IsNaN(rows[i][j]) || math.IsInf(rows[i][j], 0) {
				return moments, axes, fmt.Errorf("tensor of inertia is not finite: check the parts of the body")
			}
			sym.SetSym(i, j, rows[i][j])
		}
	}
	var eigen mat.EigenSym
	if !eigen.Factorize(sym, true) {
		return moments, axes, fmt.Errorf("principal axes were not found: check the tensor of inertia %v", t)
	}
	var vectors mat.Dense
	eigen.VectorsTo(&vectors)
	copy(moments[:], eigen.Values(nil))
	for i := range axes {
		axes[i] = V(vectors.At(0, i), vectors.At(1, i), vectors.At(2, i))
	}
	axes[2] = r3.Cross(axes[0], axes[1])
	return moments, axes, nil
}

// outer returns vvᵀ.
func outer(v Vec) Tensor {
	return Tensor{v.X * v.X, v.Y * v.Y, v.Z * v.Z, v.X * v.Y, v.Y * v.Z, v.Z * v.X}
}

// inertiaOf turns a tensor of second moments ∫xxᵀ into one of inertia.
func inertiaOf(second Tensor) Tensor {
	return Tensor{
		second.YY + second.ZZ, second.ZZ + second.XX, second.XX + second.YY,
		-second.XY, -second.YZ, -second.ZX,
	}
}
