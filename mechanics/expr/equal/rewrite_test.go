package equal_test

import (
	"flag"
	"fmt"
	"math/rand/v2"
	"testing"

	"pgregory.net/rapid"

	"counterpoise/mechanics/expr"
	"counterpoise/mechanics/expr/equal"
)

var trees = flag.Int("trees", 1500, "how many random trees TestManyTrees rewrites; the bar is 100000")

// choose is what a tree is made with: rapid's draws or plain random numbers.
type choose func(n int) int

// symbols of random trees and the ranges of their values; y and z take both
// signs.
var treeRanges = map[string]equal.Range{
	"a": {From: 0.3, To: 2}, "b": {From: 0.3, To: 2}, "m": {From: 0.3, To: 2},
	"y": {From: -1.2, To: 1.2}, "z": {From: -1.2, To: 1.2},
}

var treeNames = []string{"a", "b", "m", "y", "z"}

// grow makes a tree of at most the given depth that is positive where positive
// is asked.
func grow(pick choose, depth int, positive bool) expr.Expr {
	if depth == 0 {
		if positive {
			if pick(3) == 0 {
				return expr.Rat(int64(1+pick(5)), int64(1+pick(4)))
			}
			return expr.Sym(treeNames[pick(3)])
		}
		return expr.Sym(treeNames[pick(5)])
	}
	part := func(positive bool) expr.Expr { return grow(pick, depth-1, positive) }
	if positive {
		switch pick(6) {
		case 0:
			return part(true).Plus(part(true))
		case 1:
			return part(true).Times(part(true))
		case 2:
			return part(true).Over(part(true))
		case 3:
			return expr.Sqrt(part(true))
		case 4:
			return expr.Exp(expr.Sin(part(false)))
		}
		return expr.Int(2).Plus(expr.Cos(part(false)))
	}
	switch pick(8) {
	case 0:
		return part(false).Plus(part(false))
	case 1:
		return part(false).Minus(part(true))
	case 2:
		return part(false).Times(part(false))
	case 3:
		return part(false).Over(part(true))
	case 4:
		return expr.Sin(part(false))
	case 5:
		return expr.Cos(part(false))
	case 6:
		return expr.Atan(part(false))
	}
	return part(true)
}

// keep rewrites e by a rule that leaves its value as it is.
func keep(pick choose, e expr.Expr) expr.Expr {
	one, two := expr.Int(1), expr.Int(2)
	u := expr.Sym(treeNames[pick(5)])
	p := expr.Sym(treeNames[pick(3)])
	switch pick(12) {
	case 0: // sin²u + cos²u
		return e.Times(expr.Pow(expr.Sin(u), two).Plus(expr.Pow(expr.Cos(u), two)))
	case 1:
		return e.Plus(u).Minus(u.Times(e)).Plus(u.Times(e.Minus(one)))
	case 2:
		return e.Times(p).Over(p)
	case 3:
		return e.Expand()
	case 4: // (e² - p²)/(e - p) - p, where e is not p
		return e.Times(expr.Sqrt(expr.Pow(p, two))).Over(p)
	case 5:
		return expr.Log(expr.Exp(e))
	case 6:
		return e.Plus(expr.Sin(two.Times(u))).Minus(two.Times(expr.Sin(u)).Times(expr.Cos(u)))
	case 7:
		return e.Times(expr.Pow(expr.Cosh(u), two).Minus(expr.Pow(expr.Sinh(u), two)))
	case 8:
		return e.Times(one.Minus(expr.Cos(p))).Over(two.Times(expr.Pow(expr.Sin(p.Over(two)), two)))
	case 9:
		return e.Simplify()
	case 10:
		return e.Plus(expr.Abs(u)).Minus(expr.Sqrt(expr.Pow(u, two)))
	}
	return expr.Tan(expr.Atan(e))
}

// rebuild applies a rule inside a tree: at the root or in one of its parts.
func rebuild(pick choose, e expr.Expr, rule func(choose, expr.Expr) expr.Expr) expr.Expr {
	args := e.Args()
	if len(args) == 0 || pick(3) == 0 || e.Kind() == expr.KindPower {
		return rule(pick, e)
	}
	i := pick(len(args))
	args[i] = rebuild(pick, args[i], rule)
	switch e.Kind() {
	case expr.KindSum:
		return expr.Add(args...)
	case expr.KindProduct:
		return expr.Mul(args...)
	}
	out, err := expr.Call(e.Function(), args...)
	if err != nil {
		panic(err) // the number of arguments is as it was
	}
	return out
}

// spoil changes the value of e.
func spoil(pick choose, e expr.Expr) expr.Expr {
	k := pick(5)
	if k == 0 && equal.Zero(e, equal.Options{Ranges: treeRanges}).Verdict != equal.Different {
		k = 1 // a multiple of zero is zero
	}
	switch k {
	case 0:
		return e.Times(expr.Rat(1_000_001, 1_000_000))
	case 1:
		return e.Plus(expr.Rat(1, 1_000_000))
	case 2:
		return e.Plus(expr.Sym(treeNames[pick(5)]).Times(expr.Rat(1, 1000)))
	case 3:
		return e.Plus(expr.Rat(1, 1_000_000_000_000))
	}
	return e.Times(expr.Int(2)).Plus(expr.Int(3).Plus(expr.Pow(e, expr.Int(2))))
}

// checkTree rewrites a random tree several times: it stays the same; spoilt
// once, it is different.
func checkTree(pick choose, seed uint64) error {
	tree := grow(pick, 1+pick(4), false)
	o := equal.Options{Ranges: treeRanges, Seed: seed}
	again := tree
	for range 1 + pick(4) {
		again = rebuild(pick, again, keep)
		if again.Size() > 2000 {
			break
		}
	}
	if r := equal.Compare(tree, again, o); r.Verdict != equal.Same {
		return fmt.Errorf("%v rewritten as %v is %v: %+v", tree, again, r.Verdict, r)
	}
	wrong := spoil(pick, again)
	if r := equal.Compare(tree, wrong, o); r.Verdict != equal.Different {
		return fmt.Errorf("%v spoilt as %v is %v: %+v", tree, wrong, r.Verdict, r)
	}
	return nil
}

func TestRewrittenTrees(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		pick := func(n int) int { return rapid.IntRange(0, n-1).Draw(t, "choice") }
		if err := checkTree(pick, 1); err != nil {
			t.Fatal(err)
		}
	})
}

// TestManyTrees is the same law on many trees: go test -run ManyTrees -trees
// 100000.
func TestManyTrees(t *testing.T) {
	random := rand.New(rand.NewPCG(11, 12))
	for i := range *trees {
		if err := checkTree(random.IntN, uint64(i)); err != nil {
			t.Fatalf("tree %d: %v", i, err)
		}
	}
}
