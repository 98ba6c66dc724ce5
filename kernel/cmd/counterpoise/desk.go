package main

import (
	"context"

	"counterpoise/kernel/server"
	"counterpoise/kernel/session"
	"counterpoise/worksheets/worksheet"
)

// newDesk returns what carries out the directive cells of one kernel.
func newDesk() session.Directives { return &desk{} }

// A desk hands directive cells to the open worksheet.
type desk struct{ sheet worksheet.Desk }

func (d *desk) Direct(_ context.Context, verb, name, rest string, _ server.Output) (any, error) {
	return d.sheet.Do(verb, name, rest)
}
