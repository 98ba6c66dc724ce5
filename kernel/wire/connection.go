package wire

import (
	"encoding/json"
	"errors"
	"fmt"
	"net"
	"os"
	"strconv"

	"github.com/google/renameio/v2"
	"github.com/google/uuid"
)

// maxConnectionFile bounds a connection file: real ones have some 400 bytes.
const maxConnectionFile = 64 << 10

// A Connection is what a connection file says: where the five sockets are and
// with which key messages are signed.
type Connection struct {
	Transport       string `json:"transport"` // "tcp" or "ipc"
	IP              string `json:"ip"`        // address, or the stem of the ipc paths
	ShellPort       int    `json:"shell_port"`
	IOPubPort       int    `json:"iopub_port"`
	StdinPort       int    `json:"stdin_port"`
	ControlPort     int    `json:"control_port"`
	HBPort          int    `json:"hb_port"`
	Key             string `json:"key"`
	SignatureScheme string `json:"signature_scheme"`
	KernelName      string `json:"kernel_name,omitempty"`
}

// ReadConnection reads a connection file. Its errors are one line that names
// the file, what is wrong and what to do.
func ReadConnection(path string) (Connection, error) {
	info, err := os.Stat(path)
	if err != nil {
		return Connection{}, err
	}
	if info.IsDir() || info.Size() > maxConnectionFile {
		return Connection{}, fmt.Errorf("%s: not a connection file: give the file that Jupyter wrote for this kernel", path)
	}
	raw, err := os.ReadFile(path)
	if err != nil {
		return Connection{}, err
	}
	c, err := parseConnection(raw)
	if err != nil {
		return Connection{}, fmt.Errorf("%s: %w", path, err)
	}
	return c, nil
}

func parseConnection(raw []byte) (Connection, error) {
	var c struct {
		Connection
		Curve string `json:"curve_publickey"`
	}
	if err := json.Unmarshal(raw, &c); err != nil {
		return Connection{}, fmt.Errorf("not a connection file: %w", err)
	}
	if c.Curve != "" {
		return Connection{}, errors.New("asks for encrypted sockets (curve_publickey), which this kernel does not speak: start it without them")
	}
	if c.SignatureScheme == "" {
		c.SignatureScheme = SignatureScheme
	}
	if c.SignatureScheme != SignatureScheme {
		return Connection{}, fmt.Errorf("signature_scheme %q: this kernel signs with %s only", c.SignatureScheme, SignatureScheme)
	}
	if c.Transport == "" {
		c.Transport = "tcp"
	}
	if c.Transport != "tcp" && c.Transport != "ipc" {
		return Connection{}, fmt.Errorf("transport %q: use tcp or ipc", c.Transport)
	}
	if c.IP == "" {
		return Connection{}, errors.New("lacks ip: give the address to listen on, such as 127.0.0.1")
	}
	for _, ch := range Channels {
		if p := c.port(ch); p < 0 || p > 65535 {
			return Connection{}, fmt.Errorf("%s port %d is out of range", ch, p)
		}
	}
	return c.Connection, nil
}

// NewConnection returns a connection on the loopback address with a fresh key
// and ports that the system chooses when they are bound.
func NewConnection() Connection {
	return Connection{
		Transport:       "tcp",
		IP:              "127.0.0.1",
		Key:             uuid.NewString(),
		SignatureScheme: SignatureScheme,
	}
}

// Write writes the connection to path, readable by its owner only. The file is
// whole before it is visible.
func (c Connection) Write(path string) error {
	raw, err := json.MarshalIndent(c, "", "  ")
	if err != nil {
		return err
	}
	return renameio.WriteFile(path, append(raw, '\n'), 0o600, renameio.WithStaticPermissions(0o600))
}

func (c Connection) port(ch Channel) int { return *c.portOf(ch) }

func (c *Connection) portOf(ch Channel) *int {
	switch ch {
	case Shell:
		return &c.ShellPort
	case Control:
		return &c.ControlPort
	case Stdin:
		return &c.StdinPort
	case IOPub:
		return &c.IOPubPort
	}
	return &c.HBPort
}

// address returns the network and address to listen on for a channel.
func (c Connection) address(ch Channel) (network, address string) {
	port := strconv.Itoa(c.port(ch))
	if c.Transport == "ipc" {
		return "unix", c.IP + "-" + port
	}
	return "tcp", net.JoinHostPort(c.IP, port)
}
