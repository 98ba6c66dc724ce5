package worker

import (
	"bufio"
	"errors"
	"fmt"
	"io"
	"os/exec"
	"strings"
	"sync"

	"counterpoise/kernel/server"
)

// maxLastWords bounds what is kept of a dying worker's account, and maxLine
// what is forwarded at once.
const (
	maxLastWords = 16 << 10
	maxLine      = 8 << 10
)

// lastWords follows a worker's standard error. What is printed there in life
// is forwarded; from the line with which the Go runtime begins its account of
// a death, it is kept instead.
type lastWords struct {
	forward func(text string)

	mu    sync.Mutex
	dying bool
	text  strings.Builder
}

// deathBegins are the beginnings of such a line.
var deathBegins = []string{"fatal error: ", "panic: ", "runtime: ", "unexpected fault address", "SIG", "goroutine "}

func (l *lastWords) follow(r io.Reader) {
	lines := bufio.NewReaderSize(r, maxLine)
	for {
		line, err := lines.ReadSlice('\n')
		if len(line) > 0 {
			l.take(string(line))
		}
		if err != nil && !errors.Is(err, bufio.ErrBufferFull) {
			return
		}
	}
}

func (l *lastWords) take(line string) {
	l.mu.Lock()
	defer l.mu.Unlock()
	for _, begin := range deathBegins {
		l.dying = l.dying || strings.HasPrefix(line, begin)
	}
	switch {
	case !l.dying:
		l.forward(line)
	case l.text.Len() < maxLastWords:
		l.text.WriteString(line)
	}
}

func (l *lastWords) String() string {
	l.mu.Lock()
	defer l.mu.Unlock()
	return l.text.String()
}

// A death is one way in which the Go runtime ends a process, by the words with
// which it does.
type death struct{ words, name, value string }

// deaths are those that a cell can bring about. Source: the texts of fatal
// errors in the packages runtime and internal/runtime/maps of Go 1.26.
var deaths = []death{
	{"fatal error: concurrent map", "MapRace", "two goroutines used one map at the same time, and one of them wrote: guard the map with a sync.Mutex"},
	{"fatal error: stack overflow", "StackOverflow", "a function called itself without end until the stack was full"},
	{"goroutine stack exceeds", "StackOverflow", "a function called itself without end until the stack was full"},
	{"out of memory", "OutOfMemory", "the cell asked for more memory than there is"},
	{"cannot allocate memory", "OutOfMemory", "the cell asked for more memory than there is"},
	{"fatal error: all goroutines are asleep", "Deadlock", "every goroutine waits for another one"},
	{"fatal error: sync: ", "Mutex", "a mutex was unlocked that was not locked"},
}

// causeOfDeath says why a worker ended. reason is why the front ended it, or
// nil.
func causeOfDeath(err error, words *lastWords, reason *server.Fault) server.Fault {
	if reason != nil {
		return *reason
	}
	text := words.String()
	for _, d := range deaths {
		if strings.Contains(text, d.words) {
			return server.Fault{Name: d.name, Value: d.value}
		}
	}
	if _, after, ok := strings.Cut(text, "panic: "); ok {
		first, _, _ := strings.Cut(after, "\n")
		return server.Fault{Name: "Panic", Value: first}
	}
	if _, after, ok := strings.Cut(text, "fatal error: "); ok {
		first, _, _ := strings.Cut(after, "\n")
		return server.Fault{Name: "FatalError", Value: first}
	}
	var exit *exec.ExitError
	if err == nil || errors.As(err, &exit) && exit.Exited() {
		status := 0
		if exit != nil {
			status = exit.ExitCode()
		}
		return server.Fault{Name: "Exit", Value: fmt.Sprintf("the cell ended its process with status %d", status)}
	}
	if exit != nil && exit.String() == "signal: killed" {
		return server.Fault{Name: "Killed", Value: "the system ended the process that runs the cells, most likely because memory ran out"}
	}
	return server.Fault{Name: "Died", Value: fmt.Sprintf("the process that runs the cells ended: %v", err)}
}
