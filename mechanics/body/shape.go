package body

import (
	"fmt"
	"math"
	"strings"
)

// A Shape is a uniform solid, sheet or line in a frame of its own.
type Shape interface {
	// Check returns an error that names the measure that cannot be, and the
	// remedy.
	Check() error
	// Geometry is called only on a shape that passes Check.
	Geometry() Geometry
	// Drawing returns lines from which the shape can be drawn.
	Drawing() []Line
}

// A Geometry holds what the moments of a uniform shape follow from.
type Geometry struct {
	Volume   float64 // m³; 0 for a shape without thickness, whose mass must be given
	Centroid Vec     // m
	Second   Tensor  // mean of (r-c)(r-c)ᵀ about the centroid c, m²
}

// measured checks the measures of a shape: names and values by turns. Those
// named with a "0" before them may be zero.
func measured(shape string, pairs ...any) error {
	for i := 0; i < len(pairs); i += 2 {
		name, v := pairs[i].(string), pairs[i+1].(float64)
		mayBeZero := strings.HasPrefix(name, "0")
		name = strings.TrimPrefix(name, "0")
		switch {
		case math.IsNaN(v) || math.IsInf(v, 0):
			return fmt.Errorf("%s of the %s is %v: give a finite length", name, shape, v)
		case v < 0:
			return fmt.Errorf("%s of the %s is negative (%v m): give it as a positive length", name, shape, v)
		case v == 0 && !mayBeZero:
			return fmt.Errorf("%s of the %s is zero: give a positive length", name, shape)
		}
	}
	return nil
}

func isFinite(v Vec) bool {
	for _, x := range [3]float64{v.X, v.Y, v.Z} {
		if math.IsNaN(x) || math.IsInf(x, 0) {
			return false
		}
	}
	return true
}

// weighted is a piece of a shape with its share.
type weighted struct {
	weight float64
	Geometry
}

// combine returns the geometry of pieces together; overlaps count twice.
func combine(pieces []weighted) Geometry {
	var all Geometry
	var weight float64
	for _, p := range pieces {
		weight += p.weight
		all.Volume += p.Volume
		all.Centroid = addScaled(all.Centroid, p.weight, p.Centroid)
	}
	all.Centroid = addScaled(Vec{}, 1/weight, all.Centroid)
	for _, p := range pieces {
		d := addScaled(p.Centroid, -1, all.Centroid)
		all.Second = all.Second.Plus(p.Second.Plus(outer(d)).Times(p.weight / weight))
	}
	return all
}

func addScaled(a Vec, f float64, b Vec) Vec {
	return Vec{X: a.X + f*b.X, Y: a.Y + f*b.Y, Z: a.Z + f*b.Z}
}

// standing returns the second moments of a shape that is round about y.
func standing(across, along float64) Tensor { return Tensor{XX: across, YY: along, ZZ: across} }

// facing returns the second moments of a flat shape in the x-y plane.
func facing(x, y, z float64) Tensor { return Tensor{XX: x, YY: y, ZZ: z} }
