package machine

import "golang.org/x/tools/go/ssa"

// intrinsic returns a compiled step for some functions that would otherwise be
// interpreted, or nil.
func (w *World) intrinsic(fn *ssa.Function, args []slot, dest uintptr) op { return nil }
