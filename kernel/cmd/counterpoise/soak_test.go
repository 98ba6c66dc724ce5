package main

import (
	"flag"
	"fmt"
	"io"
	"math/rand/v2"
	"net"
	"os"
	"strings"
	"testing"
	"time"

	"counterpoise/kernel/wire"

	"github.com/go-zeromq/zmq4"
)

var soak = flag.Int("soak", 150, "how many cells TestSoak runs")

// soaked are the hostile cells of the soak, by name.
var soaked = map[string]bool{
	"panic": true, "panic in a goroutine": true, "panic in a callback": true, "panic in a comparison": true,
	"endless recursion": true, "recursion in a goroutine": true, "memory hog": true, "one huge slice": true,
	"map race": true, "os.Exit": true, "runtime.Goexit": true, "mutex": true, "endless loop": true,
	"endless output": true, "not Go": true, "deadlock": true,
}

// A long session with faults at random places: every later cell is right, the
// kernel's process is the same to the end and does not grow. The long one:
//
//	go test ./kernel/cmd/counterpoise -run TestSoak -v -timeout 2h -soak 20000
func TestSoak(t *testing.T) {
	c := startClient(t, "--memory", cellMemory())
	faults := []func(){c.forged, c.broken, c.stranger, c.huge, c.vanished}
	for _, h := range hostiles {
		if soaked[h.name] {
			faults = append(faults, func() { c.endure(h) })
		}
	}
	random := rand.New(rand.NewPCG(1, 2))
	warm, warmAt, deaths := 0, max(*soak/5, 1), 0
	for i := range *soak {
		if i == warmAt {
			warm = residentKiB(t, c.cmd.Process.Pid)
		}
		if random.IntN(25) == 0 {
			faults[random.IntN(len(faults))]()
			deaths++
		}
		want := fmt.Sprint(1000*i + 1)
		if r := c.run(fmt.Sprintf("soaked := 1000 * %d\nsoaked + 1", i)); r.Status != "ok" || r.shown != want {
			t.Fatalf("cell %d: %+v, want %s", i, r, want)
		}
		if i%1000 == 999 {
			t.Logf("%d cells, %d faults, front %d MiB", i+1, deaths, residentKiB(t, c.cmd.Process.Pid)>>10)
		}
	}
	end := residentKiB(t, c.cmd.Process.Pid)
	t.Logf("%d cells, %d faults: front %d KiB after warming up, %d KiB at the end", *soak, deaths, warm, end)
	if *soak >= 5000 && end > warm+warm/10 {
		t.Errorf("the front has grown from %d to %d KiB", warm, end)
	}
}

// residentKiB returns a process's resident memory, 0 where there is no /proc.
func residentKiB(t testing.TB, pid int) int {
	t.Helper()
	raw, err := os.ReadFile(fmt.Sprintf("/proc/%d/status", pid))
	if err != nil {
		return 0
	}
	kib := 0
	for line := range strings.Lines(string(raw)) {
		if rest, ok := strings.CutPrefix(line, "VmRSS:"); ok {
			if _, err := fmt.Sscan(rest, &kib); err != nil {
				t.Fatal(err)
			}
		}
	}
	return kib
}

// forged sends a message that somebody without the key has made.
func (c *client) forged() {
	frames, err := wire.NewCodec("another key").Encode(&wire.Message{Header: c.sender.Header("shutdown_request"), Content: []byte(`{"restart":false}`)})
	if err == nil {
		err = c.control.SendMulti(zmq4.NewMsgFrom(frames...))
	}
	if err != nil {
		c.t.Fatal(err)
	}
}

// broken sends frames that are no message.
func (c *client) broken() {
	for _, frames := range [][][]byte{{{}}, {[]byte("<IDS|MSG>")}, {[]byte("a"), []byte("b")}} {
		if err := c.shell.SendMulti(zmq4.NewMsgFrom(frames...)); err != nil {
			c.t.Fatal(err)
		}
	}
}

func (c *client) dialRaw(port int) net.Conn {
	conn, err := net.Dial("tcp", net.JoinHostPort(c.connection.IP, fmt.Sprint(port)))
	if err != nil {
		c.t.Fatal(err)
	}
	return conn
}

// stranger connects, says nothing for a while, and goes.
func (c *client) stranger() {
	conn := c.dialRaw(c.connection.ShellPort)
	time.AfterFunc(time.Second, func() { conn.Close() })
}

// zmtpHello is how a peer of ZMTP 3 begins, with a socket type.
func zmtpHello(socketType string) string {
	ready := "\x05READY\x0bSocket-Type\x00\x00\x00" + string(rune(len(socketType))) + socketType
	return "\xff\x00\x00\x00\x00\x00\x00\x00\x01\x7f\x03\x00NULL" + strings.Repeat("\x00", 48) + "\x04" + string(rune(len(ready))) + ready
}

// huge announces a frame of 1 TiB.
func (c *client) huge() {
	conn := c.dialRaw(c.connection.ShellPort)
	defer conn.Close()
	_, _ = io.WriteString(conn, zmtpHello("DEALER")+"\x02\x00\x00\x01\x00\x00\x00\x00\x00") // it may be cut off
}

// vanished subscribes, does not read, and goes.
func (c *client) vanished() {
	conn := c.dialRaw(c.connection.IOPubPort)
	_, _ = io.WriteString(conn, zmtpHello("SUB")+"\x00\x01\x01") // it may be cut off
	time.AfterFunc(time.Second, func() { conn.Close() })
}
