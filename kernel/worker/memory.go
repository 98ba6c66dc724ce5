package worker

import (
	"fmt"
	"os"
	"strconv"
	"strings"
	"time"

	"counterpoise/kernel/server"
)

const (
	// memoryInterval is how often a worker's memory is looked at while a call
	// runs, and restInterval while none does. A cell touches new memory at a few
	// gigabytes per second at most.
	memoryInterval = 50 * time.Millisecond
	restInterval   = 500 * time.Millisecond
	// MemoryCeiling is the most that [DefaultMemory] allows: far more than a
	// worksheet needs, and less than makes a computer stall.
	MemoryCeiling = 2 << 30
)

// watchMemory ends the worker if it takes more than limit bytes. The
// interpreter's own watch interrupts the cell before that; this is for the
// case that it does not get to.
func (p *process) watchMemory(limit int64) {
	path := fmt.Sprintf("/proc/%d/statm", p.cmd.Process.Pid)
	for {
		wait := restInterval
		if !p.idle() {
			wait = memoryInterval
		}
		select {
		case <-p.dead:
			return
		case <-time.After(wait):
		case <-p.begun:
			continue
		}
		if resident(path) > limit {
			p.kill(&server.Fault{
				Name:  "OutOfMemory",
				Value: fmt.Sprintf("the cells took more than %d MiB of memory, so their process was ended", limit>>20),
			})
			return
		}
	}
}

// endIfFull ends the worker if, between two cells, it holds more than half of
// what it may: what is left would soon be too little for the next cell, which
// has done nothing wrong. It returns what to tell with the result of the cell
// that left so much behind, or nil.
func (p *process) endIfFull(limit int64) *server.Fault {
	if limit <= 0 || resident(fmt.Sprintf("/proc/%d/statm", p.cmd.Process.Pid)) <= limit/2 {
		return nil
	}
	p.mu.Lock()
	p.known = true
	p.mu.Unlock()
	why := server.Fault{
		Name:  "OutOfMemory",
		Value: fmt.Sprintf("what the cells keep takes more than %d MiB of memory, so their process was ended", limit/2>>20),
	}
	p.kill(&why)
	<-p.dead
	return andGone(why)
}

// resident returns a process's resident memory in bytes, 0 if unknown.
func resident(statm string) int64 {
	raw, err := os.ReadFile(statm)
	if err != nil {
		return 0
	}
	fields := strings.Fields(string(raw))
	if len(fields) < 2 {
		return 0
	}
	pages, err := strconv.ParseInt(fields[1], 10, 64)
	if err != nil {
		return 0
	}
	return pages * int64(os.Getpagesize())
}

// DefaultMemory is half of the computer's memory, at most [MemoryCeiling], or 0
// if it is not known how much there is.
func DefaultMemory() int64 {
	raw, err := os.ReadFile("/proc/meminfo")
	if err != nil {
		return 0
	}
	for line := range strings.Lines(string(raw)) {
		if rest, ok := strings.CutPrefix(line, "MemTotal:"); ok {
			kib, err := strconv.ParseInt(strings.Fields(rest)[0], 10, 64)
			if err != nil {
				return 0
			}
			return min(kib*1024/2, MemoryCeiling)
		}
	}
	return 0
}
