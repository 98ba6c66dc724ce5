package main

import (
	"fmt"
	"log"
	"os"
	"os/exec"
	"os/signal"
	"path/filepath"
	"runtime/debug"
	"strconv"
	"syscall"
	"time"

	"counterpoise/kernel/server"
	"counterpoise/kernel/wire"
	"counterpoise/kernel/worker"

	"github.com/spf13/cobra"
)

func newKernelCommand() *cobra.Command {
	c := &cobra.Command{
		Use:   "kernel",
		Short: "Make the kernel known to Jupyter, forget it, or start it",
		Args:  onlyCommands,
		RunE:  func(cmd *cobra.Command, args []string) error { return cmd.Help() },
	}
	c.AddCommand(newKernelInstallCommand(), newKernelRemoveCommand(), newKernelStartCommand())
	return c
}

func newKernelStartCommand() *cobra.Command {
	memory := int(worker.DefaultMemory() >> 20)
	c := &cobra.Command{
		Use:   "start [CONNECTION-FILE]",
		Short: "Start the kernel; Jupyter calls this with the connection file that it wrote",
		Long: `Start the kernel. Jupyter calls this with the connection file that it wrote.
Without one, the kernel listens on this computer only, writes a connection file
and says how a front end finds it.`,
		Args: cobra.MaximumNArgs(1),
		RunE: func(cmd *cobra.Command, args []string) error {
			file := ""
			if len(args) > 0 {
				file = args[0]
			}
			return startKernel(file, int64(memory)<<20)
		},
	}
	c.Flags().IntVar(&memory, "memory", memory, "MiB of memory that cells may take, 0 for no bound")
	return c
}

// frontGC is the garbage collector's aim in the front process, in percent. Its
// heap is small and its memory counts more than its time.
const frontGC = 40

// startKernel runs a kernel until it is told to shut down.
func startKernel(file string, memory int64) error {
	debug.SetGCPercent(frontGC)
	logger := log.New(os.Stderr, "counterpoise: ", 0)
	program, err := os.Executable()
	if err != nil {
		return err
	}
	// The worker takes longest, so it starts first.
	front := worker.Start(worker.Options{
		Command: func() *exec.Cmd {
			return exec.Command(program, "worker", "--memory", strconv.FormatInt(memory>>20, 10))
		},
		Memory: memory,
		Logf:   logger.Printf,
	})
	defer front.Close()

	connection, err := connectionFor(file)
	if err != nil {
		return err
	}
	sender := wire.NewSender()
	sockets, err := wire.Listen(&connection, sender, logger.Printf)
	if err != nil {
		return err
	}
	defer sockets.Close()
	if file == "" {
		path, err := announce(connection)
		if err != nil {
			return err
		}
		defer os.Remove(path)
	}
	s := server.New(front, server.Options{Send: sockets.Send, Sender: sender, Version: version, Logf: logger.Printf})
	defer s.Close()
	sockets.Serve(s.Handle)
	s.Start()
	worker.ReleaseImage(fonts()...)
	waitForEnd(s)
	return nil
}

func connectionFor(file string) (wire.Connection, error) {
	if file == "" {
		return wire.NewConnection(), nil
	}
	return wire.ReadConnection(file)
}

// announce writes a connection file where Jupyter looks for them.
func announce(c wire.Connection) (path string, err error) {
	dir := runtimeDir()
	if err := os.MkdirAll(dir, 0o700); err != nil {
		return "", err
	}
	c.KernelName = kernelName
	path = filepath.Join(dir, fmt.Sprintf("kernel-counterpoise-%d.json", os.Getpid()))
	if err := c.Write(path); err != nil {
		return "", err
	}
	fmt.Printf("jupyter console --existing %s\n", path)
	return path, nil
}

// waitForEnd returns when the kernel has been shut down, by a message, by a
// signal, or because the process that started it is gone. An interrupt signal
// interrupts the cell that runs: a terminal sends it to the whole group.
func waitForEnd(s *server.Server) {
	interrupts, ends := make(chan os.Signal, 1), make(chan os.Signal, 1)
	signal.Notify(interrupts, os.Interrupt)
	signal.Notify(ends, syscall.SIGTERM)
	parent := time.NewTicker(parentInterval)
	defer parent.Stop()
	gone := parentGone()
	for {
		select {
		case <-s.Done():
			return
		case <-ends:
			return
		case <-interrupts:
			s.Interrupt()
		case <-parent.C:
			if gone() {
				return
			}
		}
	}
}

// parentInterval is how often the parent process is looked for.
const parentInterval = time.Second

// parentGone returns a function that reports whether the process named in
// JPY_PARENT_PID is gone.
func parentGone() func() bool {
	pid, err := strconv.Atoi(os.Getenv("JPY_PARENT_PID"))
	if err != nil || pid <= 1 {
		return func() bool { return false }
	}
	if os.Getppid() == pid {
		return func() bool { return os.Getppid() != pid }
	}
	return func() bool {
		p, err := os.FindProcess(pid)
		return err != nil || p.Signal(syscall.Signal(0)) == os.ErrProcessDone
	}
}
