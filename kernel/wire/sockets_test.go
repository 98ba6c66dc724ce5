package wire

import (
	"bytes"
	"context"
	"encoding/binary"
	"encoding/json"
	"fmt"
	"io"
	"net"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/go-zeromq/zmq4"
)

// patience bounds what a test waits for; nothing is asserted about how long
// things take.
const patience = 20 * time.Second

// bound listens on all sockets and echoes requests under the type "echo".
func bound(t *testing.T, c Connection) (*Sockets, Connection) {
	t.Helper()
	s, err := Listen(&c, NewSender(), t.Logf)
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(s.Close)
	s.Serve(func(ch Channel, m *Message) {
		_ = s.Send(ch, &Message{Identities: m.Identities, Header: s.sender.Header("echo"), Parent: m.RawHeader, Content: m.Content})
	})
	return s, c
}

func dial(t *testing.T, socket zmq4.Socket, c Connection, ch Channel) zmq4.Socket {
	t.Helper()
	t.Cleanup(func() { socket.Close() })
	if err := socket.Dial(endpoint(c, ch)); err != nil {
		t.Fatal(err)
	}
	return socket
}

func endpoint(c Connection, ch Channel) string {
	network, address := c.address(ch)
	if network == "unix" {
		return "ipc://" + address
	}
	return "tcp://" + address
}

// asks sends a request on shell from a new client and expects its echo.
func asks(t *testing.T, c Connection, text string) {
	t.Helper()
	ctx, cancel := context.WithTimeout(context.Background(), patience)
	defer cancel()
	client := dial(t, zmq4.NewDealer(ctx), c, Shell)
	content, _ := json.Marshal(text)
	request := signed(c.Key, fmt.Sprintf(`{"msg_id":"%s-%d","msg_type":"ask"}`, text, time.Now().UnixNano()), "{}", "{}", `{"text":`+string(content)+`}`)[1:]
	if err := client.SendMulti(zmq4.NewMsgFrom(request...)); err != nil {
		t.Fatal(err)
	}
	got, err := client.Recv()
	if err != nil {
		t.Fatalf("no echo of %q: %v", text, err)
	}
	if last := got.Frames[len(got.Frames)-1]; !bytes.Contains(last, content) {
		t.Fatalf("echo of %q is %q", text, last)
	}
}

func TestEchoOverTCPAndIPC(t *testing.T) {
	ipc := NewConnection()
	ipc.Transport, ipc.IP = "ipc", filepath.Join(t.TempDir(), "k")
	for i, ch := range Channels {
		*ipc.portOf(ch) = i + 1
	}
	for _, c := range []Connection{NewConnection(), ipc} {
		_, c = bound(t, c)
		asks(t, c, "heron")
	}
}

// A heartbeat comes back as it was sent: the same frames, also an empty one.
func TestHeartbeat(t *testing.T) {
	_, c := bound(t, NewConnection())
	ctx, cancel := context.WithTimeout(context.Background(), patience)
	defer cancel()
	client := dial(t, zmq4.NewReq(ctx), c, Heartbeat)
	for _, ping := range []string{"ping", "", strings.Repeat("x", 100_000)} {
		if err := client.Send(zmq4.NewMsgString(ping)); err != nil {
			t.Fatal(err)
		}
		got, err := client.Recv()
		if err != nil {
			t.Fatal(err)
		}
		if len(got.Frames) != 1 || string(got.Frames[0]) != ping {
			t.Fatalf("%d bytes come back as %d frames", len(ping), len(got.Frames))
		}
	}
}

// rawPeer opens a plain connection and says hello as ZMTP 3 does.
func rawPeer(t *testing.T, c Connection, ch Channel, socketType string) net.Conn {
	t.Helper()
	network, address := c.address(ch)
	conn, err := net.Dial(network, address)
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { conn.Close() })
	conn.SetDeadline(time.Now().Add(patience))
	ready := "\x05READY\x0bSocket-Type" + string(binary.BigEndian.AppendUint32(nil, uint32(len(socketType)))) + socketType
	hello := append(greeting(), flagCommand, byte(len(ready)))
	if _, err := conn.Write(append(hello, ready...)); err != nil {
		t.Fatal(err)
	}
	return conn
}

// The welcome is the first message of a subscription, names its topic and has
// no parent; what is published after it arrives. Source: JEP 65.
func TestWelcomeComesFirst(t *testing.T) {
	s, c := bound(t, NewConnection())
	ctx, cancel := context.WithTimeout(context.Background(), patience)
	defer cancel()
	for _, topic := range []string{"", "kernel."} {
		sub := zmq4.NewSub(ctx)
		if err := sub.SetOption(zmq4.OptionSubscribe, topic); err != nil {
			t.Fatal(err)
		}
		dial(t, sub, c, IOPub)
		for i, want := range []string{"iopub_welcome", "status"} {
			got, err := sub.Recv()
			if err != nil {
				t.Fatal(err)
			}
			m, err := NewCodec(c.Key).Decode(got.Frames)
			if err != nil {
				t.Fatal(err)
			}
			if m.Header.Type != want || string(m.Parent) != "{}" {
				t.Fatalf("message %d is %s, parent %s", i, m.RawHeader, m.Parent)
			}
			if i == 0 {
				if wantContent := fmt.Sprintf(`{"subscription":%q}`, topic); string(m.Content) != wantContent {
					t.Fatalf("content %s, want %s", m.Content, wantContent)
				}
				if err := s.Send(IOPub, &Message{Identities: [][]byte{[]byte("kernel.status")}, Header: s.sender.Header("status"), Content: []byte("{}")}); err != nil {
					t.Fatal(err)
				}
			}
		}
	}
}

// What strangers send on any socket does not keep others out.
func TestStrangers(t *testing.T) {
	_, c := bound(t, NewConnection())
	say := func(bytes string) func(Channel) {
		return func(ch Channel) {
			network, address := c.address(ch)
			conn, err := net.Dial(network, address)
			if err != nil {
				t.Fatal(err)
			}
			t.Cleanup(func() { conn.Close() })
			_, _ = io.WriteString(conn, bytes) // it may be cut off while it speaks
		}
	}
	hello := string(greeting())
	peer := func(bytes string) func(Channel) {
		return func(ch Channel) {
			kind := "DEALER"
			if ch == IOPub {
				kind = "SUB"
			}
			_, _ = io.WriteString(rawPeer(t, c, ch, kind), bytes)
		}
	}
	strangers := map[string]func(Channel){
		"says nothing":              say(""),
		"begins to greet":           say(hello[:10]),
		"greets only":               say(hello),
		"is no ZMTP peer":           say("GET / HTTP/1.1\r\nHost: localhost\r\n\r\n" + strings.Repeat("a: b\r\n", 20)),
		"is ZMTP 2":                 say("\xff\x00\x00\x00\x00\x00\x00\x00\x01\x7f\x01\x05\x00\x00"),
		"wants CURVE":               say(strings.Replace(hello, "NULL\x00", "CURVE", 1)),
		"has a cut READY":           say(hello + "\x04\x08\x05READY\xff\x00"),
		"has a long READY":          say(hello + "\x06\x00\x00\x01\x00\x00\x00\x00\x00"),
		"is no known socket":        say(hello + "\x04\x1b\x05READY\x0bSocket-Type\x00\x00\x00\x04PUSH"),
		"has a frame of 1 TiB":      peer("\x02\x00\x00\x01\x00\x00\x00\x00\x00"),
		"has a negative frame":      peer("\x02\xff\xff\xff\xff\xff\xff\xff\xff"),
		"sends commands":            peer("\x04\x05\x04PING\x04\x00"),
		"sends broken frames":       peer("\x00\x04junk\x00\x00\x01\x01a\x00\x01b\x00\x09<IDS|MSG>"),
		"stops within a frame":      peer("\x00\xffabc"),
		"sends too many frames":     peer(strings.Repeat("\x01\x00", maxFrames+1)),
		"subscribes to much":        peer("\x02\x00\x00\x00\x00\x00\x01\x00\x00" + "\x01" + strings.Repeat("t", 65535)),
		"leaves after subscription": peer("\x00\x01\x01"),
	}
	for name, stranger := range strangers {
		t.Run(name, func(t *testing.T) {
			for _, ch := range Channels {
				stranger(ch)
			}
			asks(t, c, name)
		})
	}
}

// A subscriber that stops reading is cut off; one that reads gets every
// message in order, and those that were queued at the end as well.
func TestStalledSubscriber(t *testing.T) {
	s, c := bound(t, NewConnection())
	stalled := rawPeer(t, c, IOPub, "SUB")
	if _, err := io.WriteString(stalled, "\x00\x01\x01"); err != nil {
		t.Fatal(err)
	}
	ctx, cancel := context.WithTimeout(context.Background(), 3*patience)
	defer cancel()
	reader := zmq4.NewSub(ctx)
	if err := reader.SetOption(zmq4.OptionSubscribe, ""); err != nil {
		t.Fatal(err)
	}
	dial(t, reader, c, IOPub)
	if _, err := reader.Recv(); err != nil { // the welcome
		t.Fatal(err)
	}
	const count, size = 2000, 32 << 10 // 64 MiB: twice what may wait for one peer
	go func() {
		text := []byte(`{"t":"` + strings.Repeat("x", size) + `"}`)
		for i := range count {
			m := &Message{Identities: [][]byte{fmt.Append(nil, i)}, Header: s.sender.Header("stream"), Content: text}
			if err := s.Send(IOPub, m); err != nil {
				t.Error(err)
			}
		}
		s.Close()
	}()
	for i := range count {
		got, err := reader.Recv()
		if err != nil {
			t.Fatalf("message %d: %v", i, err)
		}
		if string(got.Frames[0]) != fmt.Sprint(i) {
			t.Fatalf("message %d is %s", i, got.Frames[0])
		}
	}
}

// Peers that have gone are forgotten.
func TestVanishedPeers(t *testing.T) {
	s, c := bound(t, NewConnection())
	for range 50 {
		rawPeer(t, c, Shell, "DEALER").Close()
		sub := rawPeer(t, c, IOPub, "SUB")
		_, _ = io.WriteString(sub, "\x00\x01\x01")
		sub.Close()
	}
	asks(t, c, "still there")
	for _, ch := range []Channel{Shell, IOPub} {
		until := time.Now().Add(patience)
		for len(s.guards[ch].all()) > 1 { // the one that asked
			if time.Now().After(until) {
				t.Fatalf("%s: %d peers are still kept", ch, len(s.guards[ch].all()))
			}
			time.Sleep(time.Millisecond)
		}
	}
}
