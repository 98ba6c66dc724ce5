//go:build goexperiment.simd && amd64

package tape

import (
	"math"
	"simd/archsimd"
)

// This file is compiled with GOEXPERIMENT=simd on amd64 only. Where the
// processor has AVX2 it runs the arithmetic of a batch four lanes at a time,
// in the same order of operations and without fusing, so with the same bits
// as batch.go built for the first version of amd64 (GOAMD64=v1).

func init() {
	if archsimd.X86.AVX2() {
		runWide = runBatchAVX2
	}
}

// A quad is four neighbouring lanes.
type quad = [4]float64

func load(x []float64, j int) archsimd.Float64x4 {
	return archsimd.LoadFloat64x4((*quad)(x[j:]))
}

// runBatchAVX2 executes one instruction over the lanes, whose number is a
// multiple of four, and reports whether it knows it.
func runBatchAVX2(op opcode, d, a, b, c, e []float64) bool {
	n := len(d)
	a, b, c, e = a[:n], b[:n], c[:n], e[:n]
	switch op {
	case iAdd:
		for j := 0; j+4 <= n; j += 4 {
			load(a, j).Add(load(b, j)).Store((*quad)(d[j:]))
		}
	case iSub:
		for j := 0; j+4 <= n; j += 4 {
			load(a, j).Sub(load(b, j)).Store((*quad)(d[j:]))
		}
	case iMul:
		for j := 0; j+4 <= n; j += 4 {
			load(a, j).Mul(load(b, j)).Store((*quad)(d[j:]))
		}
	case iDiv:
		for j := 0; j+4 <= n; j += 4 {
			load(a, j).Div(load(b, j)).Store((*quad)(d[j:]))
		}
	case iSqrt:
		for j := 0; j+4 <= n; j += 4 {
			load(a, j).Sqrt().Store((*quad)(d[j:]))
		}
	case iOverRoot:
		for j := 0; j+4 <= n; j += 4 {
			load(a, j).Div(load(b, j).Sqrt()).Store((*quad)(d[j:]))
		}
	case iOverCube:
		for j := 0; j+4 <= n; j += 4 {
			x := load(b, j)
			load(a, j).Div(x.Mul(x.Sqrt())).Store((*quad)(d[j:]))
		}
	case iAdd3:
		for j := 0; j+4 <= n; j += 4 {
			load(a, j).Add(load(b, j)).Add(load(c, j)).Store((*quad)(d[j:]))
		}
	case iMul3:
		for j := 0; j+4 <= n; j += 4 {
			load(a, j).Mul(load(b, j)).Mul(load(c, j)).Store((*quad)(d[j:]))
		}
	case iMulAdd:
		for j := 0; j+4 <= n; j += 4 {
			load(a, j).Mul(load(b, j)).Add(load(c, j)).Store((*quad)(d[j:]))
		}
	case iMulSub:
		for j := 0; j+4 <= n; j += 4 {
			load(a, j).Mul(load(b, j)).Sub(load(c, j)).Store((*quad)(d[j:]))
		}
	case iSubMul:
		for j := 0; j+4 <= n; j += 4 {
			load(c, j).Sub(load(a, j).Mul(load(b, j))).Store((*quad)(d[j:]))
		}
	case iMulMulAdd:
		for j := 0; j+4 <= n; j += 4 {
			load(a, j).Mul(load(b, j)).Add(load(c, j).Mul(load(e, j))).Store((*quad)(d[j:]))
		}
	case iMulMulSub:
		for j := 0; j+4 <= n; j += 4 {
			load(a, j).Mul(load(b, j)).Sub(load(c, j).Mul(load(e, j))).Store((*quad)(d[j:]))
		}
	case iMul3Add:
		for j := 0; j+4 <= n; j += 4 {
			load(a, j).Mul(load(b, j)).Mul(load(c, j)).Add(load(e, j)).Store((*quad)(d[j:]))
		}
	case iMul3Sub:
		for j := 0; j+4 <= n; j += 4 {
			load(a, j).Mul(load(b, j)).Mul(load(c, j)).Sub(load(e, j)).Store((*quad)(d[j:]))
		}
	case iSubMul3:
		for j := 0; j+4 <= n; j += 4 {
			load(e, j).Sub(load(a, j).Mul(load(b, j)).Mul(load(c, j))).Store((*quad)(d[j:]))
		}
	case iSin:
		sincosAVX2(d, nil, a)
	case iCos:
		sincosAVX2(nil, d, a)
	case iSincos:
		sincosAVX2(d, e, a)
	default:
		return false
	}
	return true
}

// sincosAVX2 is sincos for each of x, four at a time; either result may be nil.
// Four lanes one of which is near an axis or large are left to sincos.
func sincosAVX2(sin, cos, x []float64) {
	all := archsimd.BroadcastFloat64x4
	sign := archsimd.BroadcastUint64x4(1 << 63)
	for j := 0; j+4 <= len(x); j += 4 {
		v := load(x, j)
		t := v.Mul(all(2 / math.Pi)).Add(all(roundUp))
		q := t.Sub(all(roundUp))
		hi := v.Sub(q.Mul(all(halfPi1)))
		w := q.Mul(all(halfPi2))
		r := hi.Sub(w)
		size := r.AsUint64x4().AndNot(sign).AsFloat64x4()
		turns := q.AsUint64x4().AndNot(sign).AsFloat64x4()
		if size.Greater(all(nearAxis)).And(turns.Less(all(maxQuarter))).ToBits() != 0xf {
			for k := j; k < j+4; k++ {
				s, c := sincos(x[k])
				if sin != nil {
					sin[k] = s
				}
				if cos != nil {
					cos[k] = c
				}
			}
			continue
		}
		low := hi.Sub(r).Sub(w).Sub(q.Mul(all(tail2)))
		z := r.Mul(r)
		z2 := z.Mul(z)
		p := all(sin2).Add(z.Mul(all(sin3))).Add(z2.Mul(all(sin4).Add(z.Mul(all(sin5))).Add(z2.Mul(all(sin6)))))
		zr := z.Mul(r)
		s := r.Sub(z.Mul(all(0.5).Mul(low).Sub(zr.Mul(p))).Sub(low).Sub(zr.Mul(all(sin1))))
		p = all(cos1).Add(z.Mul(all(cos2))).Add(z2.Mul(all(cos3).Add(z.Mul(all(cos4))).Add(z2.Mul(all(cos5).Add(z.Mul(all(cos6)))))))
		half := all(0.5).Mul(z)
		one := all(1).Sub(half)
		c := one.Add(all(1).Sub(one).Sub(half).Add(z2.Mul(p).Sub(r.Mul(low))))
		n := t.AsUint64x4()
		bs, bc := s.AsUint64x4(), c.AsUint64x4()
		odd := archsimd.BroadcastUint64x4(0).Sub(n.And(archsimd.BroadcastUint64x4(1)))
		swap := bs.Xor(bc).And(odd)
		two := archsimd.BroadcastUint64x4(2)
		if sin != nil {
			bs.Xor(swap).Xor(n.And(two).ShiftAllLeft(62)).AsFloat64x4().Store((*quad)(sin[j:]))
		}
		if cos != nil {
			n = n.Add(archsimd.BroadcastUint64x4(1))
			bc.Xor(swap).Xor(n.And(two).ShiftAllLeft(62)).AsFloat64x4().Store((*quad)(cos[j:]))
		}
	}
}
