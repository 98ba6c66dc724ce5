// Counterpoise runs worksheets about small moving toys: as a Jupyter kernel,
// or from start to end without Jupyter.
//
// Exit status: 0 all well; 1 the thing examined falls short; 2 the call or an
// input file is wrong, with one line that says which, where, and what to do.
package main

import (
	"errors"
	"fmt"
	"os"
	"strings"

	"github.com/spf13/cobra"
)

// commands make the subcommands, each in a file of its own.
var commands = []func() *cobra.Command{
	newRunCommand,
	newKernelCommand,
	newWorkerCommand,
	newBuildCommand,
	newProofCommand,
	newHandOutCommand,
	newMarkCommand,
	newCheckCommand,
	newToyCommand,
}

// version is what the program calls itself; a release build sets it.
var version = "0.1.0"

// The program's exit statuses.
const (
	statusFallsShort = 1
	statusWrongCall  = 2
)

// errFallsShort is wrapped by the errors of commands that did their work and
// found that what they examined falls short. Everything else that a command
// returns means that the call or an input file is wrong.
var errFallsShort = errors.New("falls short")

// errSaid is errFallsShort where the command has already printed what is
// wrong.
var errSaid = fmt.Errorf("%w, as printed", errFallsShort)

func main() { os.Exit(run(os.Args[1:])) }

// run carries out one call of the program and returns its exit status.
func run(args []string) int {
	root := newRoot()
	root.SetArgs(args)
	return exitStatus(root.Execute())
}

func newRoot() *cobra.Command {
	root := &cobra.Command{
		Use:           "counterpoise",
		Short:         "Worksheets about small moving toys: run, build, prove and mark them",
		Version:       version,
		SilenceUsage:  true,
		SilenceErrors: true,
		Args:          onlyCommands,
		RunE:          func(cmd *cobra.Command, args []string) error { return cmd.Help() },
	}
	root.CompletionOptions.HiddenDefaultCmd = true
	for _, c := range commands {
		root.AddCommand(c())
	}
	return root
}

// exitStatus prints an error as one line and returns the status for it.
func exitStatus(err error) int {
	if err == nil {
		return 0
	}
	if !errors.Is(err, errSaid) {
		lines := strings.Split(strings.TrimSpace(err.Error()), "\n")
		for i := range lines {
			lines[i] = strings.Join(strings.Fields(lines[i]), " ")
		}
		fmt.Fprintln(os.Stderr, "counterpoise: "+strings.Join(lines, "; "))
	}
	if errors.Is(err, errFallsShort) {
		return statusFallsShort
	}
	return statusWrongCall
}

// onlyCommands refuses words that are none of a command's subcommands.
func onlyCommands(cmd *cobra.Command, args []string) error {
	if len(args) > 0 {
		return fmt.Errorf("unknown command %q: see %s --help", args[0], cmd.CommandPath())
	}
	return nil
}
