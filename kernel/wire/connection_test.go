package wire

import (
	"os"
	"path/filepath"
	"runtime"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
)

func TestConnectionFileRoundTrip(t *testing.T) {
	path := filepath.Join(t.TempDir(), "kernel.json")
	want := NewConnection()
	want.ShellPort, want.HBPort = 50001, 50005
	if err := want.Write(path); err != nil {
		t.Fatal(err)
	}
	got, err := ReadConnection(path)
	if err != nil {
		t.Fatal(err)
	}
	if diff := cmp.Diff(want, got); diff != "" {
		t.Error(diff)
	}
	info, err := os.Stat(path)
	if err != nil {
		t.Fatal(err)
	}
	if runtime.GOOS != "windows" && info.Mode().Perm() != 0o600 {
		t.Errorf("others may read it: %v", info.Mode())
	}
}

func TestBadConnectionFile(t *testing.T) {
	dir := t.TempDir()
	for name, tt := range map[string]struct{ text, want string }{
		"not JSON":         {"hello", "not a connection file"},
		"cut":              {`{"ip": "127.0.0.1"`, "not a connection file"},
		"another scheme":   {`{"ip":"127.0.0.1","signature_scheme":"hmac-md5"}`, "hmac-sha256 only"},
		"another network":  {`{"ip":"127.0.0.1","transport":"udp"}`, "use tcp or ipc"},
		"no address":       {`{"transport":"tcp"}`, "lacks ip"},
		"impossible port":  {`{"ip":"127.0.0.1","stdin_port":70000}`, "stdin port 70000"},
		"encryption asked": {`{"ip":"127.0.0.1","curve_publickey":"rq:rM>}U?@Lns47E1%kR.o@n%FcmmsL/@{H8]yf7"}`, "curve_publickey"},
		"huge":             {strings.Repeat(" ", maxConnectionFile) + `{"ip":"127.0.0.1"}`, "not a connection file"},
	} {
		path := filepath.Join(dir, strings.ReplaceAll(name, " ", "-"))
		if err := os.WriteFile(path, []byte(tt.text), 0o600); err != nil {
			t.Fatal(err)
		}
		_, err := ReadConnection(path)
		if err == nil || !strings.Contains(err.Error(), tt.want) || !strings.HasPrefix(err.Error(), path) || strings.Contains(err.Error(), "\n") {
			t.Errorf("%s: %v", name, err)
		}
	}
	if _, err := ReadConnection(dir); err == nil {
		t.Error("a folder is read as a connection file")
	}
}
