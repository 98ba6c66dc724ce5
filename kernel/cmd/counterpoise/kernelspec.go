package main

import (
	"embed"
	"encoding/json"
	"fmt"
	"os"
	"path/filepath"
	"runtime"
	"strings"

	"github.com/google/renameio/v2"
	"github.com/spf13/cobra"
)

// kernelName is the name of the kernelspec's folder.
const kernelName = "counterpoise"

//go:embed logo/logo-32x32.png logo/logo-64x64.png logo/logo-svg.svg
var logos embed.FS

// A kernelspec tells Jupyter how to start the kernel. Source: Jupyter's
// "Making kernels for Jupyter", Kernel specs.
type kernelspec struct {
	Argv            []string          `json:"argv"`
	DisplayName     string            `json:"display_name"`
	Language        string            `json:"language"`
	InterruptMode   string            `json:"interrupt_mode"`
	ProtocolVersion string            `json:"kernel_protocol_version"`
	Env             map[string]string `json:"env"`
	Metadata        map[string]any    `json:"metadata"`
}

func newKernelInstallCommand() *cobra.Command {
	var prefix string
	c := &cobra.Command{
		Use:   "install",
		Short: "Make the kernel known to Jupyter",
		Args:  cobra.NoArgs,
		RunE: func(cmd *cobra.Command, args []string) error {
			dir := specDir(prefix)
			if err := installSpec(dir); err != nil {
				return err
			}
			fmt.Fprintln(cmd.OutOrStdout(), dir)
			return nil
		},
	}
	c.Flags().StringVar(&prefix, "prefix", "", "install below this folder, such as a Python environment's, instead of for the user")
	return c
}

func newKernelRemoveCommand() *cobra.Command {
	var prefix string
	c := &cobra.Command{
		Use:   "remove",
		Short: "Make Jupyter forget the kernel",
		Args:  cobra.NoArgs,
		RunE: func(cmd *cobra.Command, args []string) error {
			dir := specDir(prefix)
			if _, err := os.Stat(filepath.Join(dir, "kernel.json")); err != nil {
				return fmt.Errorf("%s: no kernel is installed there: give the --prefix that it was installed with", dir)
			}
			return os.RemoveAll(dir)
		},
	}
	c.Flags().StringVar(&prefix, "prefix", "", "the folder that it was installed below")
	return c
}

// installSpec writes the kernelspec folder; kernel.json, which makes it one,
// comes last.
func installSpec(dir string) error {
	program, err := os.Executable()
	if err != nil {
		return err
	}
	if err := os.MkdirAll(dir, 0o755); err != nil {
		return err
	}
	if temporary(program) {
		if program, err = keepProgram(program, dir); err != nil {
			return err
		}
	}
	files, err := logos.ReadDir("logo")
	if err != nil {
		return err
	}
	for _, f := range files {
		data, err := logos.ReadFile("logo/" + f.Name())
		if err != nil {
			return err
		}
		if err := renameio.WriteFile(filepath.Join(dir, f.Name()), data, 0o644); err != nil {
			return err
		}
	}
	raw, err := json.MarshalIndent(kernelspec{
		Argv:            []string{program, "kernel", "start", "{connection_file}"},
		DisplayName:     "Counterpoise (Go)",
		Language:        "go",
		InterruptMode:   "message",
		ProtocolVersion: "5.5",
		Env:             map[string]string{},
		Metadata:        map[string]any{"debugger": false},
	}, "", "  ")
	if err != nil {
		return err
	}
	return renameio.WriteFile(filepath.Join(dir, "kernel.json"), append(raw, '\n'), 0o644)
}

// temporary reports whether the program was built by "go run", which removes
// it when it ends.
func temporary(program string) bool {
	return strings.Contains(filepath.ToSlash(program), "/go-build")
}

// keepProgram copies the program beside the kernelspec and returns its new
// path.
func keepProgram(program, dir string) (string, error) {
	data, err := os.ReadFile(program)
	if err != nil {
		return "", err
	}
	kept, err := filepath.Abs(filepath.Join(dir, filepath.Base(program)))
	if err != nil {
		return "", err
	}
	return kept, renameio.WriteFile(kept, data, 0o755)
}

// specDir returns the folder of the kernelspec.
func specDir(prefix string) string {
	if prefix != "" {
		return filepath.Join(prefix, "share", "jupyter", "kernels", kernelName)
	}
	return filepath.Join(dataDir(), "kernels", kernelName)
}

// dataDir returns the user's Jupyter data folder. Source: Jupyter's "Common
// directories and file locations".
func dataDir() string {
	if dir := os.Getenv("JUPYTER_DATA_DIR"); dir != "" {
		return dir
	}
	home, err := os.UserHomeDir()
	if err != nil {
		home = "."
	}
	switch runtime.GOOS {
	case "darwin":
		return filepath.Join(home, "Library", "Jupyter")
	case "windows":
		return filepath.Join(os.Getenv("APPDATA"), "jupyter")
	}
	if dir := os.Getenv("XDG_DATA_HOME"); dir != "" {
		return filepath.Join(dir, "jupyter")
	}
	return filepath.Join(home, ".local", "share", "jupyter")
}

// runtimeDir returns the folder in which Jupyter looks for connection files.
func runtimeDir() string {
	if dir := os.Getenv("JUPYTER_RUNTIME_DIR"); dir != "" {
		return dir
	}
	return filepath.Join(dataDir(), "runtime")
}
