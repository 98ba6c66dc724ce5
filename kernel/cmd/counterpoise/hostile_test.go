package main

import (
	"fmt"
	"net"
	"os"
	"os/exec"
	"strings"
	"syscall"
	"testing"
	"time"

	"counterpoise/kernel/wire"

	"github.com/go-zeromq/zmq4"
)

// A hostile cell does what a student does by mistake once a term.
type hostile struct {
	name, code string
	interrupt  bool   // it goes on until it is interrupted
	status     string // how it must end; "" for any way
	says       string // what must be in its error or output
}

// hostiles is the list of cells after which the next one must still run.
var hostiles = []hostile{
	{name: "panic", code: `panic("stop")`, status: "error", says: "stop"},
	{name: "index out of range", code: "a := []int{1}\ni := 5\na[i]", status: "error", says: "index out of range"},
	{name: "nil map", code: "var m map[string]int\nm[\"a\"] = 1", status: "error"},
	{name: "nil pointer", code: "type P struct{ X int }\nvar p *P\np.X", status: "error"},
	{name: "panic in a goroutine", code: `go func() { panic("in a goroutine") }()`},
	{name: "panic in a callback", code: "import \"time\"\ntime.AfterFunc(time.Millisecond, func() { panic(\"in a callback\") })"},
	{name: "panic in a comparison", code: "import \"sort\"\nb := []int{3, 1, 2}\nsort.Slice(b, func(i, j int) bool { panic(\"in a comparison\") })", status: "error", says: "in a comparison"},
	{name: "closed channel in a goroutine", code: "ch := make(chan int)\nclose(ch)\ngo func() { ch <- 1 }()"},
	{name: "endless recursion", code: "func down(n int) int { return down(n+1) + 1 }\ndown(0)", status: "error"},
	{name: "mutual recursion", code: "func even(n int) bool { return odd(n + 1) }\nfunc odd(n int) bool { return even(n + 1) }\neven(0)", status: "error"},
	{name: "recursion in a goroutine", code: "func deep(n int) int { return deep(n+1) + 1 }\ngo deep(0)"},
	{name: "endless recursion by String", code: "import \"fmt\"\ntype T struct{}\nfunc (t T) String() string { return fmt.Sprint(t) }\nfmt.Println(T{})"},
	{name: "memory hog", code: "var hog [][]byte\nfor {\n\thog = append(hog, make([]byte, 1<<20))\n}", status: "error"},
	{name: "one huge slice", code: "import \"fmt\"\nbig := make([]int64, 1<<44)\nfmt.Println(len(big))", status: "error"},
	{name: "string that doubles", code: "s := \"ab\"\nfor {\n\ts += s\n}", status: "error"},
	{name: "map race", code: "import \"time\"\nraced := map[int]int{}\nfor range 8 {\n\tgo func() {\n\t\tfor i := 0; ; i++ {\n\t\t\traced[i%10]++\n\t\t}\n\t}()\n}\ntime.Sleep(5 * time.Second)"},
	{name: "os.Exit", code: "import \"os\"\nos.Exit(3)", status: "error"},
	{name: "log.Fatal", code: "import \"log\"\nlog.Fatal(\"over\")", status: "error"},
	{name: "runtime.Goexit", code: "import \"runtime\"\nruntime.Goexit()"},
	{name: "mutex", code: "import \"sync\"\nvar mu sync.Mutex\nmu.Unlock()", status: "error"},
	{name: "negative wait group", code: "import \"sync\"\nvar wg sync.WaitGroup\nwg.Done()", status: "error"},
	{name: "endless loop", code: "for {\n}", interrupt: true, status: "error"},
	{name: "endless output", code: "import \"fmt\"\nfor {\n\tfmt.Println(\"and on\")\n}", interrupt: true, status: "error"},
	{name: "deadlock", code: "select {}", interrupt: true, status: "error"},
	{name: "lock twice", code: "import \"sync\"\nvar two sync.Mutex\ntwo.Lock()\ntwo.Lock()", interrupt: true, status: "error"},
	{name: "goroutines without end", code: "for {\n\tgo func() { select {} }()\n}", interrupt: true},
	{name: "loop in a goroutine", code: "go func() {\n\tfor {\n\t}\n}()"},
	{name: "deferred panic", code: "defer func() { panic(\"late\") }()", status: "error"},
	{name: "not Go", code: "balance the heron, please", status: "error"},
	{name: "unclosed", code: "func f( {", status: "error"},
	{name: "not UTF-8", code: "s := \"\xff\xfe\"", status: ""},
	{name: "NUL", code: "x := 1\x00", status: "error"},
	{name: "deeply nested", code: "x := " + strings.Repeat("(", 100_000) + "1" + strings.Repeat(")", 100_000), status: ""},
	{name: "huge cell", code: "// " + strings.Repeat("long ", 1_000_000), status: "ok"},
}

// cellMemory returns what cells may take in these tests, in MiB. The race
// detector's own memory comes to several times the program's.
func cellMemory() string {
	if raceDetector {
		return "4096"
	}
	return "1024"
}

// endure runs a hostile cell and says what came of it.
func (c *client) endure(h hostile) ran {
	c.t.Helper()
	c.forget()
	id := c.execute(h.code)
	if h.interrupt {
		time.Sleep(100 * time.Millisecond) // so that it has begun
		defer c.interrupt()()
	}
	return c.outcome(id)
}

// After every cell of the list, the same kernel process runs the next cell.
func TestHostileCells(t *testing.T) {
	c := startClient(t, "--memory", cellMemory())
	defer func() { c.t = t }()
	for _, h := range hostiles {
		t.Run(strings.ReplaceAll(h.name, " ", "-"), func(t *testing.T) {
			c.t = t
			began := time.Now()
			r := c.endure(h)
			if h.status != "" && r.Status != h.status {
				t.Errorf("%+v, want status %s", r, h.status)
			}
			if all := r.Ename + r.Evalue + r.printed; !strings.Contains(all, h.says) {
				t.Errorf("%+v does not say %q", r, h.says)
			}
			c.answers()
			t.Logf("%s %s: %.100s (%v)", r.Status, r.Ename, r.Evalue, time.Since(began).Round(time.Millisecond))
		})
	}
}

// Strangers and broken messages end nothing and are not answered.
func TestHostileMessages(t *testing.T) {
	c := startClient(t)
	good := func(kind string) [][]byte {
		frames, err := c.codec.Encode(&wire.Message{Header: c.sender.Header(kind), Content: []byte("{}")})
		if err != nil {
			t.Fatal(err)
		}
		return frames
	}
	with := func(frames [][]byte, at int, text string) [][]byte {
		f := append([][]byte{}, frames...)
		f[at] = []byte(text)
		return f
	}
	once := good("kernel_info_request")
	for name, frames := range map[string][][]byte{
		"forged":           with(good("kernel_info_request"), 1, strings.Repeat("0", 64)),
		"unsigned":         with(good("kernel_info_request"), 1, ""),
		"changed":          with(good("kernel_info_request"), 5, `{"a":1}`),
		"cut":              good("kernel_info_request")[:4],
		"a word":           {[]byte("junk")},
		"an empty frame":   {{}},
		"a delimiter":      {[]byte("<IDS|MSG>")},
		"sent once":        once,
		"sent twice":       once,
		"without content":  good("execute_request"),
		"of unknown type":  good("no_such_request"),
		"a reply":          good("execute_reply"),
		"of a long type":   good(strings.Repeat("x", 10_000)),
		"without any code": good("complete_request"),
	} {
		for _, s := range []zmq4.Socket{c.shell, c.control} {
			if err := s.SendMulti(zmq4.NewMsgFrom(frames...)); err != nil {
				t.Fatal(name, err)
			}
		}
		c.answers()
	}
	for name, stranger := range map[string]string{
		"silent":      "",
		"half hello":  "\xff\x00\x00\x00\x00\x00\x00\x00\x01\x7f",
		"1 TiB frame": zmtpHello("DEALER") + "\x02\x00\x00\x01\x00\x00\x00\x00\x00",
		"a browser":   "GET / HTTP/1.1\r\nHost: x\r\n\r\n" + strings.Repeat("x", 4096),
	} {
		for _, port := range []int{c.connection.ShellPort, c.connection.ControlPort, c.connection.IOPubPort, c.connection.HBPort, c.connection.StdinPort} {
			conn, err := net.Dial("tcp", net.JoinHostPort(c.connection.IP, fmt.Sprint(port)))
			if err != nil {
				t.Fatal(name, err)
			}
			t.Cleanup(func() { conn.Close() })
			_, _ = conn.Write([]byte(stranger)) // it may be cut off while it speaks
		}
		c.answers()
		other := &client{t: t, connection: c.connection, codec: wire.NewCodec(c.connection.Key), sender: wire.NewSender(), changed: make(chan struct{}), log: c.log}
		other.attach() // later clients are not locked out
		other.answers()
	}
}

// A subscriber that does not read and a client that vanished stop nobody.
func TestStalledAndVanished(t *testing.T) {
	c := startClient(t)
	stalled, err := net.Dial("tcp", net.JoinHostPort(c.connection.IP, fmt.Sprint(c.connection.IOPubPort)))
	if err != nil {
		t.Fatal(err)
	}
	defer stalled.Close()
	if _, err := stalled.Write([]byte(zmtpHello("SUB") + "\x00\x01\x01")); err != nil {
		t.Fatal(err)
	}
	gone := &client{t: t, connection: c.connection, codec: wire.NewCodec(c.connection.Key), sender: wire.NewSender(), changed: make(chan struct{}), log: c.log}
	gone.attach()
	gone.execute("import \"time\"\ntime.Sleep(100 * time.Millisecond)\n7")
	for _, s := range []zmq4.Socket{gone.shell, gone.control, gone.iopub} {
		s.Close()
	}
	const lines = 200_000
	r := c.run(fmt.Sprintf("import \"fmt\"\nfor i := range %d {\n\tfmt.Println(\"a line of some length, so that it fills what is between\", i)\n}", lines))
	if r.Status != "ok" || !strings.HasPrefix(r.printed, "a line") {
		t.Fatalf("%s %s %.100q", r.Status, r.Evalue, r.printed)
	}
	c.answers()
}

// The kernel ends when it is told to, with the cell that runs, and when the
// process that started it is gone.
func TestEnds(t *testing.T) {
	for _, busy := range []bool{false, true} {
		c := startClient(t)
		if busy {
			c.execute("for {\n}")
		}
		c.send(c.control, "shutdown_request", map[string]any{"restart": false})
		c.await(func(m *wire.Message) bool { return m.Header.Type == "shutdown_reply" })
		if err := c.cmd.Wait(); err != nil {
			t.Errorf("busy %v: %v", busy, err)
		}
	}
}

// Signals: an interrupt interrupts, a termination ends.
func TestSignals(t *testing.T) {
	c := startClient(t)
	if r := c.run("kept := 12321"); r.Status != "ok" {
		t.Fatal(r)
	}
	c.forget()
	id := c.execute("for {\n}")
	time.Sleep(100 * time.Millisecond)
	if err := c.cmd.Process.Signal(os.Interrupt); err != nil {
		t.Fatal(err)
	}
	if r := c.outcome(id); r.Status != "error" {
		t.Errorf("%+v", r)
	}
	if r := c.run("kept"); r.shown != "12321" {
		t.Errorf("state: %+v", r)
	}
	if err := c.cmd.Process.Signal(syscall.SIGTERM); err != nil {
		t.Fatal(err)
	}
	if err := c.cmd.Wait(); err != nil {
		t.Error(err)
	}
}

// The kernel does not outlive the process that started it, which Jupyter names
// in JPY_PARENT_PID.
func TestEndsWithItsParent(t *testing.T) {
	parent := exec.Command("counterpoise", "kernel", "start") // any process that stays
	parent.Env = append(os.Environ(), "JUPYTER_RUNTIME_DIR="+t.TempDir())
	if err := parent.Start(); err != nil {
		t.Fatal(err)
	}
	t.Setenv("JPY_PARENT_PID", fmt.Sprint(parent.Process.Pid))
	c := startClient(t)
	c.answers()
	if err := parent.Process.Kill(); err != nil {
		t.Fatal(err)
	}
	_ = parent.Wait() // it was killed
	if err := c.cmd.Wait(); err != nil {
		t.Error(err)
	}
}

// A bad connection file is told in one line, with status 2.
func TestBadConnectionFile(t *testing.T) {
	c := exec.Command("counterpoise", "kernel", "start", "/no/such/file.json")
	said, err := c.CombinedOutput()
	if err == nil || c.ProcessState.ExitCode() != statusWrongCall || strings.Count(string(said), "\n") != 1 || !strings.Contains(string(said), "/no/such/file.json") {
		t.Errorf("%v: %q", err, said)
	}
}
