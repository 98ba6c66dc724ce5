package worker

import (
	"bufio"
	"fmt"
	"os"
	"runtime/debug"
	"strings"
	"syscall"
	"unsafe"
)

// ReleaseImage gives back the pages of the program's code and constants that
// starting up has touched, most of which are never touched again: package
// initialisation walks through all of a large program. They count as resident
// in each of the kernel's two processes. What is needed after all comes back
// from the page cache. The garbage of initialisation goes as well.
//
// Embedded files lie among the program's variables, where nothing may be given
// back unasked; those that are named here are, too. They must never have been
// written to.
func ReleaseImage(embedded ...[]byte) {
	debug.FreeOSMemory()
	for _, file := range embedded {
		releaseBytes(file)
	}
	program, err := os.Executable()
	if err != nil {
		return
	}
	maps, err := os.Open("/proc/self/maps")
	if err != nil {
		return
	}
	defer maps.Close()
	lines := bufio.NewScanner(maps)
	for lines.Scan() {
		// The line's form is in proc_pid_maps(5).
		var from, to uintptr
		var mode string
		line := lines.Text()
		if _, err := fmt.Sscanf(line, "%x-%x %s", &from, &to, &mode); err != nil || !strings.HasSuffix(line, program) {
			continue
		}
		if !strings.Contains(mode, "w") { // what was written would be lost
			_, _, _ = syscall.Syscall(syscall.SYS_MADVISE, from, to-from, syscall.MADV_DONTNEED) // a wish
		}
	}
}

// releaseBytes gives back the whole pages within b.
func releaseBytes(b []byte) {
	page := uintptr(os.Getpagesize())
	from := uintptr(unsafe.Pointer(unsafe.SliceData(b)))
	to := (from + uintptr(len(b))) / page * page
	from = (from + page - 1) / page * page
	if from < to {
		_, _, _ = syscall.Syscall(syscall.SYS_MADVISE, from, to-from, syscall.MADV_DONTNEED) // a wish
	}
}
