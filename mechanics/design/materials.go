package design

import (
	"fmt"
	"math"
	"strings"
	"text/tabwriter"

	"gonum.org/v1/gonum/spatial/r3"

	"counterpoise/mechanics/body"
	"counterpoise/mechanics/quantity"
)

// An Item is one line of a list of materials.
type Item struct {
	What     string // "round rod", "ball", …
	Material string
	Size     string  // of the stock, such as "2.5 mm"
	Count    int     // pieces in one toy
	Length   float64 // of one piece of rod or wire, m; 0 for other things
	Mass     float64 // of one piece, kg
	Buy      int     // pieces for all toys, with spares; 0 for what is bought by length
	BuyMetre float64 // m of rod or wire for all toys, with waste
	BuyMass  float64 // kg of what is bought in all
}

// A List is what a set of toys takes.
type List struct {
	Toys  int
	Items []Item
}

// Waste is what is bought beyond what is needed. Common practice, no source: 10 % of
// wire and one spare ball in ten.
type Waste struct {
	Wire   float64 // share of rods and wires; 0 = 0.1, negative = none
	Pieces int     // one spare in so many; 0 = 10, negative = none
}

// Materials lists what so many toys take. Equal parts are counted together; holes
// are left out, since what is drilled away is bought too.
func Materials(a body.Assembly, toys int, w Waste) (List, error) {
	if err := a.Check(); err != nil {
		return List{}, err
	}
	if toys < 1 {
		return List{}, fmt.Errorf("the list is for %d toys: give at least one", toys)
	}
	if w.Wire == 0 {
		w.Wire = 0.1
	}
	if w.Pieces == 0 {
		w.Pieces = 10
	}
	l := List{Toys: toys}
	for _, p := range a {
		if !p.Hole {
			l.add(itemOf(p))
		}
	}
	for i := range l.Items {
		l.Items[i].order(toys, w)
	}
	return l, nil
}

func (l *List) add(n Item) {
	for i, it := range l.Items {
		same := it.What == n.What && it.Material == n.Material && it.Size == n.Size
		if same && math.Abs(it.Length-n.Length) < 1e-5 && math.Abs(it.Mass-n.Mass) < 1e-6 {
			l.Items[i].Count++
			return
		}
	}
	n.Count = 1
	l.Items = append(l.Items, n)
}

// order fills in what to buy.
func (it *Item) order(toys int, w Waste) {
	n := it.Count * toys
	if it.Length > 0 {
		it.BuyMetre = float64(n) * it.Length * (1 + max(0, w.Wire))
		it.BuyMass = float64(n) * it.Mass * (1 + max(0, w.Wire))
		return
	}
	it.Buy = n
	if w.Pieces > 0 {
		it.Buy += (n + w.Pieces - 1) / w.Pieces
	}
	it.BuyMass = float64(it.Buy) * it.Mass
}

// itemOf says what to buy for a part.
func itemOf(p body.Part) Item {
	it := Item{Material: p.Material.Name, Mass: p.Mass()}
	if it.Material == "" {
		it.Material = "any"
	}
	mm := func(v ...float64) string {
		parts := make([]string, len(v))
		for i, x := range v {
			parts[i] = fmt.Sprintf("%.4g", x*1e3)
		}
		return strings.Join(parts, " × ") + " mm"
	}
	switch s := p.Shape.(type) {
	case body.Rod:
		it.What, it.Size, it.Length = "round rod", mm(s.Diameter), r3.Norm(r3.Sub(s.To, s.From))
	case body.Wire:
		it.What, it.Size, it.Length = "wire, bent", mm(s.Diameter), s.Length()
	case body.Arc:
		it.What, it.Size, it.Length = "wire, curved", mm(s.Diameter), s.Length()
	case body.Helix:
		it.What, it.Size, it.Length = "wire, coiled", mm(s.Diameter), s.Length()
	case body.Torus:
		it.What, it.Size, it.Length = "wire, ring", mm(2*s.Tube), 2*math.Pi*s.Radius
	case body.Cylinder:
		it.What, it.Size, it.Length = "round rod", mm(2*s.Radius), s.Height
	case body.Tube:
		it.What, it.Size, it.Length = "tube", mm(2*s.Outer, 2*s.Inner), s.Height
	case body.Sphere:
		it.What, it.Size = "ball", mm(2*s.Radius)
	case body.Point:
		it.What, it.Size = "weight", fmt.Sprintf("%.3g g", it.Mass*1e3)
	case body.Shell:
		it.What, it.Size = "hollow ball", mm(2*s.Outer)
	case body.Cap, body.Dome:
		it.What, it.Size = "part of a ball", extent(p)
	case body.Disc:
		it.What, it.Size = "disc", mm(2*s.Radius, s.Thickness)
	case body.Washer:
		it.What, it.Size = "washer", mm(2*s.Outer, 2*s.Inner, s.Thickness)
	case body.Block:
		it.What, it.Size = "block", mm(s.X, s.Y, s.Z)
	case body.Plate:
		it.What, it.Size = "plate", extent(p)+", "+mm(s.Thickness)+" thick"
	case body.Cone, body.Frustum, body.Paraboloid, body.Turned:
		it.What, it.Size = "turned piece", extent(p)
	default:
		it.What, it.Size = "piece", extent(p)
	}
	return it
}

// extent returns width and height of a part as it is drawn by itself.
func extent(p body.Part) string {
	p.At, p.Turn = body.Vec{}, r3.Rotation{}
	low, high := body.V(math.Inf(1), math.Inf(1), 0), body.V(math.Inf(-1), math.Inf(-1), 0)
	for _, l := range p.Drawing() {
		for _, v := range l.Points {
			low.X, low.Y = min(low.X, v.X), min(low.Y, v.Y)
			high.X, high.Y = max(high.X, v.X), max(high.Y, v.Y)
		}
	}
	return fmt.Sprintf("%.3g × %.3g mm", (high.X-low.X)*1e3, (high.Y-low.Y)*1e3)
}

// Mass returns the mass in kg of all that is bought.
func (l List) Mass() float64 {
	m := 0.0
	for _, it := range l.Items {
		m += it.BuyMass
	}
	return m
}

func (l List) rows() [][]string {
	rows := [][]string{{"part", "material", "size", "in one toy", "mass each", fmt.Sprintf("buy for %d", l.Toys), "mass"}}
	for _, it := range l.Items {
		each := fmt.Sprint(it.Count)
		buy := fmt.Sprint(it.Buy)
		if it.Length > 0 {
			each = fmt.Sprintf("%d × %s", it.Count, quantity.New(it.Length, quantity.MustUnit("mm")).Format(3, quantity.MustUnit("mm")))
			buy = fmt.Sprintf("%.2f m", it.BuyMetre)
		}
		rows = append(rows, []string{it.What, it.Material, it.Size, each, fmt.Sprintf("%.3g g", it.Mass*1e3), buy, fmt.Sprintf("%.3g g", it.BuyMass*1e3)})
	}
	return rows
}

// safety stands under every list.
const safety = "Cutting, drilling, soldering: eye protection, deburred edges, no lead, and the rules of the workshop first."

// Markdown returns the list as a table.
func (l List) Markdown() string {
	var b strings.Builder
	for i, r := range l.rows() {
		fmt.Fprintf(&b, "| %s |\n", strings.Join(r, " | "))
		if i == 0 {
			fmt.Fprintf(&b, "|%s\n", strings.Repeat(" --- |", len(r)))
		}
	}
	return b.String() + fmt.Sprintf("\n%.3g g in all. %s\n", l.Mass()*1e3, safety)
}

// String returns the list as text with aligned columns.
func (l List) String() string {
	var b strings.Builder
	w := tabwriter.NewWriter(&b, 0, 0, 2, ' ', 0)
	for _, r := range l.rows() {
		fmt.Fprintln(w, strings.Join(r, "\t"))
	}
	w.Flush()
	return b.String() + fmt.Sprintf("%.3g g in all. %s", l.Mass()*1e3, safety)
}
