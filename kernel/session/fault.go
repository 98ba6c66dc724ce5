package session

import (
	"fmt"
	"runtime"
	"strings"

	"counterpoise/kernel/server"
	"counterpoise/kernel/session/machine"
)

// fault tells what is wrong with a cell that was not run.
func (s *Session) fault(cell server.Cell, wrong []complaint) *server.Fault {
	first := wrong[0]
	f := &server.Fault{Name: first.name, Value: first.msg}
	src := source{cell.Number, 0, cell.Code}
	f.Line, f.Col = src.place(first.offset)
	lines := strings.Split(cell.Code, "\n")
	const most = 10
	for i, w := range wrong {
		if i == most {
			f.Traceback = append(f.Traceback, fmt.Sprintf("and %d more", len(wrong)-most))
			break
		}
		line, col := src.place(w.offset)
		f.Traceback = append(f.Traceback, fmt.Sprintf("%s:%d:%d: %s", cellName(cell.Number), line, col, w.msg))
		if i == 0 && line <= len(lines) {
			f.Traceback = append(f.Traceback, "    "+strings.ReplaceAll(lines[line-1], "\t", " "), "    "+caret(lines[line-1], col))
		}
	}
	return f
}

// caret points at a column, which counts bytes.
func caret(line string, col int) string {
	return strings.Repeat(" ", len([]rune(line[:min(col-1, len(line))]))) + "^"
}

// panicFault tells how a cell ended that did not end well.
func (e *execution) panicFault(p *machine.Panic, where string) *server.Fault {
	f := &server.Fault{Name: "Panic"}
	switch {
	case p.Exit:
		f.Name = "Exit"
		f.Value = fmt.Sprintf("exit status %d: os.Exit ends the cell, not the kernel", p.Code)
	case p.Interrupted:
		f.Name = "Interrupted"
		f.Value = "interrupted"
	case p.Overflow:
		f.Name = "StackOverflow"
		f.Value = p.Text()
	default:
		f.Value = p.Text()
		if _, ok := p.Value.(runtime.Error); ok {
			f.Name = "RuntimeError"
		}
		if _, ok := p.Value.(inputError); ok {
			f.Name = "InputError"
		}
	}
	for _, pos := range p.Trace {
		if int(pos.Cell) == e.cell.Number {
			f.Line, f.Col = int(pos.Line), int(pos.Col)
			break
		}
	}
	head := f.Name + ": " + f.Value
	if f.Name == "Panic" || f.Name == "RuntimeError" {
		head = "panic: " + f.Value
	}
	if f.Name == "Exit" {
		where = ""
	}
	if where != "" {
		head += " (in a " + where + ")"
	}
	f.Traceback = append(f.Traceback, head)
	for i, pos := range p.Trace {
		name := strings.ReplaceAll(p.Names[i], "main.", "")
		name = strings.ReplaceAll(name, runName, "the cell")
		f.Traceback = append(f.Traceback, fmt.Sprintf("%s:%d:%d: %s", cellName(int(pos.Cell)), pos.Line, pos.Col, name))
	}
	return f
}

// memoryFault tells of a cell that was stopped for the memory it took.
func (e *execution) memoryFault(p *machine.Panic) *server.Fault {
	if p == nil {
		p = &machine.Panic{Interrupted: true}
	}
	f := e.panicFault(p, "")
	f.Name = "OutOfMemory"
	f.Value = fmt.Sprintf("the cell was stopped at %d MiB of memory", e.session.limit>>20)
	f.Traceback[0] = f.Name + ": " + f.Value
	return f
}
