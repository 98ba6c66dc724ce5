package main

import (
	"os"
	"os/signal"
	"runtime"

	"counterpoise/kernel/server"
	"counterpoise/kernel/worker"

	"github.com/spf13/cobra"
)

// newWorkerCommand is how the kernel starts its other half; nobody else calls
// it.
func newWorkerCommand() *cobra.Command {
	var memory int64
	c := &cobra.Command{
		Use:    "worker",
		Short:  "Run cells for a kernel at the other end of standard input and output",
		Hidden: true,
		Args:   cobra.NoArgs,
		RunE: func(cmd *cobra.Command, args []string) error {
			// A terminal's interrupt reaches the whole group; the kernel passes
			// it on as a message.
			signal.Ignore(os.Interrupt)
			offerToDie()
			return worker.Serve(os.Stdin, os.Stdout, func() (server.Evaluator, error) {
				defer worker.ReleaseImage(fonts()...)
				return newEvaluator(memory << 20)
			})
		},
	}
	c.Flags().Int64Var(&memory, "memory", 0, "MiB of memory that cells may take, 0 for no bound")
	return c
}

// offerToDie tells Linux to end this process, and not the kernel or the
// browser, when memory runs out.
func offerToDie() {
	if runtime.GOOS == "linux" {
		_ = os.WriteFile("/proc/self/oom_score_adj", []byte("1000"), 0o644) // a wish: without it the kernel works as well
	}
}
