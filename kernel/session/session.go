package session

import (
	"context"
	"fmt"
	"go/token"
	"go/types"
	"sync"

	"golang.org/x/tools/go/ssa"

	"counterpoise/kernel/server"
	"counterpoise/kernel/session/machine"
)

// heapLimit is the heap at which a cell is stopped rather than let the machine
// swap: more than any worksheet needs, less than a school laptop has.
const heapLimit = 2 << 30

// Options say what a session can do beyond running Go.
type Options struct {
	// Directives runs cells whose first line is a //worksheet: comment. Without
	// it such a cell says that no worksheet is open here.
	Directives Directives
	// Memory is the size of the heap in bytes at which a cell is stopped; 0
	// stands for 2 GiB.
	Memory uint64
}

// Directives runs the cells of a worksheet that are not Go: those whose first
// line is //worksheet:VERB NAME. The rest of the cell is rest.
type Directives interface {
	Direct(ctx context.Context, verb, name, rest string, out server.Output) (show any, err error)
}

// A Session is the state of one notebook's cells. It implements
// server.Evaluator.
type Session struct {
	options  Options
	world    *machine.World
	packages *packages

	filesMu sync.RWMutex
	files   map[*token.File]source

	mu       sync.Mutex
	fset     *token.FileSet
	scope    map[string]types.Object // what earlier cells declared
	imports  map[string]string       // names of packages imported so far, to their paths
	dots     []string                // packages imported with a dot
	prog     *ssa.Program
	created  map[*types.Package]bool
	origin   map[*types.Package]int    // which cell a package of a cell is
	phantoms map[*types.Func]bool      // methods known to their types whose cells did not pass
	docs     map[string]cellDoc        // by name, methods and fields as Type.Name
	generic  map[*types.Package]syntax // of cells that declare generic functions or types
	opened   map[*types.Package][]*token.File
	built    int // cells since the program was begun
	last     *execution
	limit    uint64 // bytes of heap at which a cell is stopped
}

// A source tells where in a cell the text of a parsed file stands.
type source struct {
	cell   int
	prefix int // bytes put before the cell's text
	code   string
}

// New returns a session without any cells.
func New(o Options) (*Session, error) {
	if err := machine.Supported(); err != nil {
		return nil, err
	}
	s := &Session{
		options:  o,
		fset:     token.NewFileSet(),
		files:    map[*token.File]source{},
		scope:    map[string]types.Object{},
		imports:  map[string]string{},
		created:  map[*types.Package]bool{},
		origin:   map[*types.Package]int{},
		phantoms: map[*types.Func]bool{},
		docs:     map[string]cellDoc{},
		limit:    heapLimit,
		generic:  map[*types.Package]syntax{},
		opened:   map[*types.Package][]*token.File{},
	}
	if o.Memory > 0 {
		s.limit = o.Memory
	}
	s.packages = newPackages(s.fset)
	s.world = machine.NewWorld(natives{}, s.position)
	s.begin()
	host()
	return s, nil
}

// Close ends the session.
func (s *Session) Close() error {
	s.mu.Lock()
	defer s.mu.Unlock()
	if s.last != nil {
		s.last.run.Stop()
	}
	return nil
}

// position tells where in a cell pos is.
func (s *Session) position(pos token.Pos) machine.Position {
	f := s.fset.File(pos)
	if f == nil {
		return machine.Position{}
	}
	src, ok := s.file(f)
	if !ok {
		return machine.Position{}
	}
	line, col := src.place(f.Offset(pos))
	return machine.Position{Cell: int32(src.cell), Line: int32(line), Col: int32(col)}
}

// file returns where the text of a parsed file stands. Functions are compiled
// when they are first called, perhaps while another cell is being read.
func (s *Session) file(f *token.File) (source, bool) {
	s.filesMu.RLock()
	defer s.filesMu.RUnlock()
	src, ok := s.files[f]
	return src, ok
}

func (s *Session) setFile(f *token.File, src source) {
	s.filesMu.Lock()
	defer s.filesMu.Unlock()
	s.files[f] = src
}

func (s *Session) dropFile(f *token.File) {
	s.filesMu.Lock()
	defer s.filesMu.Unlock()
	delete(s.files, f)
	s.fset.RemoveFile(f)
}

// place turns an offset in the parsed file into a line and column of the cell.
func (src source) place(offset int) (line, col int) {
	at := min(max(offset-src.prefix, 0), len(src.code))
	line, col = 1, 1
	for i := 0; i < at; i++ {
		if src.code[i] == '\n' {
			line++
			col = 1
		} else {
			col++
		}
	}
	return line, col
}

// cellName is how a cell is called in positions.
func cellName(n int) string { return fmt.Sprintf("cell %d", n) }
