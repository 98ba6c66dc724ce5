package elastic

import (
	"errors"
	"fmt"
	"math"

	"gonum.org/v1/gonum/mat"
	"gonum.org/v1/gonum/spatial/r2"
)

// A Stem is an upright rod with a weight at its end, one of a [Cluster]. Seen from
// above it stands at a place in the plane of x and z.
type Stem struct {
	Rod  Rod
	Tip  float64 // mass at the end, kg
	At   r2.Vec  // where it stands, m
	Easy float64 // direction in which it bends easily, rad from the x axis
}

// A Link joins the ends of two stems.
type Link struct {
	From, To int     // indices of the stems
	Along    float64 // stiffness along the line between them, N/m: a spring or thread
	Across   float64 // stiffness against their moving sideways to one another, N/m
}

// A Cluster is a bed of springy rods whose ends are coupled, so that each end moves
// in two directions and hands its swing on.
type Cluster struct {
	Stems []Stem
	Links []Link
}

// Matrices returns the mass and stiffness matrices in kg and N/m for the
// displacements of the ends, in the order x₁, z₁, x₂, z₂, … The rods' own mass
// counts with 33/140.
func (c Cluster) Matrices() (mass, stiffness *mat.SymDense, err error) {
	n := len(c.Stems)
	if n == 0 {
		return nil, nil, errors.New("the cluster has no stems: give at least one")
	}
	mass, stiffness = mat.NewSymDense(2*n, nil), mat.NewSymDense(2*n, nil)
	for i, s := range c.Stems {
		k, err := s.Rod.Stiffness(ClampedFree)
		if err != nil {
			return nil, nil, fmt.Errorf("stem %d: %w", i+1, err)
		}
		if !(s.Tip >= 0) || math.IsInf(s.Tip, 0) || math.IsNaN(s.Easy) || math.IsInf(s.Easy, 0) {
			return nil, nil, fmt.Errorf("stem %d has a tip of %v kg and the direction %v: give a mass that is not negative and an angle", i+1, s.Tip, s.Easy)
		}
		m := s.Tip + s.Rod.EquivalentMass()
		mass.SetSym(2*i, 2*i, m)
		mass.SetSym(2*i+1, 2*i+1, m)
		hard := k * s.Rod.Section.Stiff / s.Rod.Section.Weak
		easy := r2.Vec{X: math.Cos(s.Easy), Y: math.Sin(s.Easy)}
		addSpring(stiffness, i, i, 1, directed(easy, k, hard))
	}
	for i, l := range c.Links {
		if l.From < 0 || l.To < 0 || l.From >= n || l.To >= n || l.From == l.To {
			return nil, nil, fmt.Errorf("link %d joins stems %d and %d: give two different ones from 0 to %d", i+1, l.From, l.To, n-1)
		}
		if !(l.Along >= 0 && l.Across >= 0) || math.IsInf(l.Along+l.Across, 0) {
			return nil, nil, fmt.Errorf("link %d has the stiffnesses %v and %v N/m: give numbers that are not negative", i+1, l.Along, l.Across)
		}
		d := r2.Sub(c.Stems[l.To].At, c.Stems[l.From].At)
		if r2.Norm(d) == 0 {
			return nil, nil, fmt.Errorf("link %d joins two stems in the same place: move one", i+1)
		}
		k := directed(r2.Unit(d), l.Along, l.Across)
		addSpring(stiffness, l.From, l.From, 1, k)
		addSpring(stiffness, l.To, l.To, 1, k)
		addSpring(stiffness, l.From, l.To, -1, k)
	}
	return mass, stiffness, nil
}

// directed returns the 2×2 stiffness of a spring with different stiffness along
// and across a unit vector: xx, xz, zz.
func directed(n r2.Vec, along, across float64) [3]float64 {
	return [3]float64{along*n.X*n.X + across*n.Y*n.Y, (along - across) * n.X * n.Y, along*n.Y*n.Y + across*n.X*n.X}
}

func addSpring(k *mat.SymDense, i, j int, sign float64, b [3]float64) {
	add := func(r, c int, v float64) { k.SetSym(r, c, k.At(r, c)+sign*v) }
	add(2*i, 2*j, b[0])
	add(2*i+1, 2*j+1, b[2])
	add(2*i, 2*j+1, b[1])
	if i != j {
		add(2*i+1, 2*j, b[1])
	}
}

// Frequencies returns the frequencies in Hz of all modes, ascending.
func (c Cluster) Frequencies() ([]float64, error) {
	m, k, err := c.Matrices()
	if err != nil {
		return nil, err
	}
	n := m.SymmetricDim()
	scaled := mat.NewSymDense(n, nil)
	largest := 0.0
	for i := range n {
		for j := i; j < n; j++ {
			v := k.At(i, j) / math.Sqrt(m.At(i, i)*m.At(j, j))
			if math.IsNaN(v) || math.IsInf(v, 0) {
				return nil, fmt.Errorf("stems %d and %d have a stiffness of %v N/m for the masses %v and %v kg at their ends: give rods or tips that weigh something", i/2+1, j/2+1, k.At(i, j), m.At(i, i), m.At(j, j))
			}
			scaled.SetSym(i, j, v)
			largest = max(largest, math.Abs(v))
		}
	}
	if largest == 0 {
		return make([]float64, n), nil
	}
	// The factorisation cannot read numbers that are vanishingly small.
	for i := range n {
		for j := i; j < n; j++ {
			v := scaled.At(i, j) / largest
			if math.Abs(v) < 1e-100 {
				v = 0
			}
			scaled.SetSym(i, j, v)
		}
	}
	var eigen mat.EigenSym
	if !eigen.Factorize(scaled, false) {
		return nil, errors.New("the frequencies were not found: check the stiffnesses")
	}
	f := eigen.Values(nil)
	for i := range f {
		f[i] = math.Sqrt(max(0, f[i])*largest) / (2 * math.Pi)
	}
	return f, nil
}
