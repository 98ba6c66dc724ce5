//go:build linux

package main

import (
	"fmt"
	"os"
	"os/exec"
	"strings"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"
)

// A cost is what a process took.
type cost struct {
	wall, processor time.Duration
	memory          int // the most at a time, MiB
}

func (c cost) String() string {
	return fmt.Sprintf("%.1f s, %.1f s of processor, %d MiB", c.wall.Seconds(), c.processor.Seconds(), c.memory)
}

// costs waits for processes that run side by side; memory is that of the
// largest.
func costs(t testing.TB, all ...*exec.Cmd) (sum cost) {
	t.Helper()
	start := time.Now()
	for _, p := range all {
		p.Stderr = os.Stderr
		if err := p.Start(); err != nil {
			t.Fatal(err)
		}
	}
	done := make(chan struct{})
	watched := make(chan int)
	go func() { watched <- watchMemory(all, done) }()
	for _, p := range all {
		if err := p.Wait(); err != nil {
			t.Fatalf("%v: %v", p.Args[1:], err)
		}
		sum.processor += p.ProcessState.UserTime() + p.ProcessState.SystemTime()
	}
	close(done)
	sum.wall, sum.memory = time.Since(start), <-watched
	return sum
}

// watchMemory returns the greatest resident memory of processes in MiB: as the
// system keeps it, looked up often, since what wait tells of a process counts
// the test's own memory in.
func watchMemory(all []*exec.Cmd, done <-chan struct{}) (most int) {
	tick := time.NewTicker(5 * time.Millisecond)
	defer tick.Stop()
	for {
		for _, p := range all {
			status, err := os.ReadFile(fmt.Sprintf("/proc/%d/status", p.Process.Pid))
			if err != nil {
				continue // it has ended
			}
			if _, rest, ok := strings.Cut(string(status), "VmHWM:"); ok {
				var kib int
				if _, err := fmt.Sscan(rest, &kib); err == nil {
					most = max(most, kib>>10)
				}
			}
		}
		select {
		case <-done:
			return most
		case <-tick.C:
		}
	}
}

// largest is the memory that marking may take, MiB, whatever the class.
const largest = 256

// Memory stays bounded, and four shards side by side end as one run does. What
// it costs is told, beside a class of a tenth.
//
//	go test ./kernel/cmd/counterpoise -run AtScale -v -timeout 2h -scripts 30000
func TestMarkingAtScale(t *testing.T) {
	c := newClassroom(t, *scripts)
	part := costs(t, c.markFolder("handed-in/tenth", "tenth"))
	t.Logf("%d scripts: %v", *scripts/10, part)
	whole := costs(t, c.mark("whole"))
	t.Logf("%d scripts: %v, %.0f scripts a second", *scripts, whole, float64(*scripts)/whole.wall.Seconds())
	want := tree(t, c.path("whole"))
	const shards = 4
	var processes []*exec.Cmd
	merge := []string{"mark", "--merge", "--key", c.path("key.json"), "--to", c.path("merged")}
	for i := range shards {
		to := fmt.Sprintf("part-%d", i+1)
		processes = append(processes, c.mark(to, "--shard", fmt.Sprintf("%d/%d", i+1, shards)))
		merge = append(merge, c.path(to))
	}
	sharded := costs(t, processes...)
	merged := costs(t, exec.Command("counterpoise", merge...))
	if diff := cmp.Diff(want, tree(t, c.path("merged"))); diff != "" {
		t.Error(diff)
	}
	t.Logf("as %d shards: %v; merged: %v", shards, sharded, merged)
	for _, one := range []cost{part, whole, sharded, merged} {
		if one.memory >= largest {
			t.Errorf("%d MiB, want less than %d", one.memory, largest)
		}
	}
}
