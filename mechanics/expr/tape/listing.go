package tape

import (
	"fmt"
	"strings"
)

// patterns say what each instruction computes.
var patterns = [...]string{
	iAdd: "d = a + b", iSub: "d = a - b", iMul: "d = a*b", iDiv: "d = a/b", iNeg: "d = -a", iSqrt: "d = sqrt a",
	iOverRoot: "d = a/sqrt b", iOverCube: "d = a/(b sqrt b)", iAdd3: "d = a + b + c", iMul3: "d = a*b*c", iMulAdd: "d = a*b + c", iMulSub: "d = a*b - c", iSubMul: "d = c - a*b",
	iMulMulAdd: "d = a*b + c*e", iMulMulSub: "d = a*b - c*e", iMul3Add: "d = a*b*c + e", iMul3Sub: "d = a*b*c - e", iSubMul3: "d = e - a*b*c",
	iSin: "d = sin a", iCos: "d = cos a", iSincos: "d, e = sin a, cos a", iSelect: "d = b if a else c",
	iFunction1: "d = f(a)", iFunction2: "d = f(a, b)", iLoad: "d = memory", iStore: "memory = a", iOutput: "output = a",
}

var opNames = [...]string{
	opTan: "tan", opAsin: "asin", opAcos: "acos", opAtan: "atan", opAtan2: "atan2", opSinh: "sinh", opCosh: "cosh",
	opTanh: "tanh", opExp: "exp", opLog: "log", opAbs: "abs", opSign: "sign", opMin: "min", opMax: "max", opPow: "pow",
	opLess: "less", opLessEqual: "lessequal", opSelect: "",
}

// Listing returns the program as text, one instruction a line, registers as r0,
// r1, … and constants as numbers: to see what a compilation made of a formula.
func (p *Program) Listing() string {
	names := map[int]string{}
	for i := 0; i < p.code.resident; i++ {
		names[i] = p.inputs[i]
	}
	for _, c := range p.code.constant {
		names[c.at] = fmt.Sprintf("%.6g", c.v)
	}
	register := func(r uint8) string {
		if name, ok := names[int(r)]; ok {
			return name
		}
		return fmt.Sprintf("r%d", r)
	}
	var b strings.Builder
	for _, in := range p.code.ins {
		text := patterns[in.op]
		switch in.op {
		case iFunction1, iFunction2:
			text = strings.Replace(text, "f(", opNames[in.extra]+"(", 1)
		case iLoad, iStore:
			text = strings.Replace(text, "memory", fmt.Sprintf("memory %d", in.extra), 1)
		case iOutput:
			text = strings.Replace(text, "output", fmt.Sprintf("output %d", in.extra), 1)
		}
		for i, word := range strings.FieldsFunc(text, func(r rune) bool { return r == ' ' }) {
			if i > 0 {
				b.WriteByte(' ')
			}
			b.WriteString(spell(word, in, register))
		}
		b.WriteByte('\n')
	}
	for i, o := range p.code.result {
		where := register(o)
		for _, d := range p.code.distant {
			if d.output == i {
				where = fmt.Sprintf("memory %d", d.at)
			}
		}
		fmt.Fprintf(&b, "output %d = %s\n", i, where)
	}
	return b.String()
}

// spell puts registers for the letters of a word such as a*b.
func spell(word string, in instruction, register func(uint8) string) string {
	var b strings.Builder
	for i, r := range word {
		alone := (i == 0 || !letter(word[i-1])) && (i+1 == len(word) || !letter(word[i+1]))
		switch {
		case !alone:
			b.WriteRune(r)
		case r == 'a':
			b.WriteString(register(in.a))
		case r == 'b':
			b.WriteString(register(in.b))
		case r == 'c':
			b.WriteString(register(in.c))
		case r == 'd':
			b.WriteString(register(in.d))
		case r == 'e':
			b.WriteString(register(in.e))
		default:
			b.WriteRune(r)
		}
	}
	return b.String()
}

func letter(c byte) bool { return 'a' <= c && c <= 'z' }
