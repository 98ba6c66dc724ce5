// Package os is what cells get when they import "os": the standard streams of
// the cell, the end of the run, and reading files. It writes no file, starts no
// program and changes nothing of the process.
package os

import (
	"io"
	"io/fs"
	real "os"
)

// The host sets these before the first cell runs.
var (
	// Write takes what is written to a standard stream ("stdout", "stderr").
	Write = func(name string, p []byte) {}
	// Quit ends the run.
	Quit = func(code int) { panic("os.Exit") }
)

// Args holds the name of the program, as in a program without arguments.
var Args = []string{"cell"}

// Stdin, Stdout and Stderr are the standard streams of the running cell.
var (
	Stdin  = &File{name: "/dev/stdin"}
	Stdout = &File{name: "/dev/stdout", stream: "stdout"}
	Stderr = &File{name: "/dev/stderr", stream: "stderr"}
)

// Errors, as in package os.
var (
	ErrInvalid    = fs.ErrInvalid
	ErrPermission = fs.ErrPermission
	ErrExist      = fs.ErrExist
	ErrNotExist   = fs.ErrNotExist
	ErrClosed     = fs.ErrClosed
)

// Types of io/fs under the names that os has for them.
type (
	FileInfo  = fs.FileInfo
	FileMode  = fs.FileMode
	DirEntry  = fs.DirEntry
	PathError = fs.PathError
)

// A File is a standard stream, or a file opened for reading.
type File struct {
	name   string
	stream string
	file   *real.File
}

// Name returns the name of the file.
func (f *File) Name() string { return f.name }

// Read reads from a file. Standard input is empty: a cell asks with Ask.
func (f *File) Read(p []byte) (int, error) {
	if f.file != nil {
		return f.file.Read(p)
	}
	if f.stream != "" {
		return 0, &PathError{Op: "read", Path: f.name, Err: ErrInvalid}
	}
	return 0, io.EOF
}

// Write writes to a standard stream.
func (f *File) Write(p []byte) (int, error) {
	if f.stream == "" {
		return 0, &PathError{Op: "write", Path: f.name, Err: ErrPermission}
	}
	Write(f.stream, p)
	return len(p), nil
}

// WriteString writes to a standard stream.
func (f *File) WriteString(s string) (int, error) { return f.Write([]byte(s)) }

// Sync does nothing.
func (f *File) Sync() error { return nil }

// Stat describes a file.
func (f *File) Stat() (FileInfo, error) {
	if f.file != nil {
		return f.file.Stat()
	}
	return nil, &PathError{Op: "stat", Path: f.name, Err: ErrInvalid}
}

// Seek sets where a file is read next.
func (f *File) Seek(offset int64, whence int) (int64, error) {
	if f.file != nil {
		return f.file.Seek(offset, whence)
	}
	return 0, &PathError{Op: "seek", Path: f.name, Err: ErrInvalid}
}

// Close closes a file.
func (f *File) Close() error {
	if f.file != nil {
		return f.file.Close()
	}
	return nil
}

// Open opens a file for reading.
func Open(name string) (*File, error) {
	file, err := real.Open(name)
	if err != nil {
		return nil, err
	}
	return &File{name: name, file: file}, nil
}

// ReadFile returns the content of a file.
func ReadFile(name string) ([]byte, error) { return real.ReadFile(name) }

// ReadDir lists a folder.
func ReadDir(name string) ([]DirEntry, error) { return real.ReadDir(name) }

// Stat describes a file.
func Stat(name string) (FileInfo, error) { return real.Stat(name) }

// Exit ends the run of the cell with the given status.
func Exit(code int) { Quit(code) }

// Getenv returns the value of an environment variable that is no secret: the
// time zone, the language and the like; "" for all others.
func Getenv(key string) string {
	switch key {
	case "TZ", "LANG", "LC_ALL", "HOME", "USER", "PWD":
		return real.Getenv(key)
	}
	return ""
}

// LookupEnv is Getenv that tells whether the variable is set.
func LookupEnv(key string) (string, bool) {
	v := Getenv(key)
	return v, v != ""
}

// Getpid returns the number of the process.
func Getpid() int { return real.Getpid() }

// Getwd returns the current folder.
func Getwd() (string, error) { return real.Getwd() }

// Hostname returns a name for the machine, which is not told.
func Hostname() (string, error) { return "localhost", nil }

// IsNotExist tells whether err says that a file does not exist.
func IsNotExist(err error) bool { return real.IsNotExist(err) }

// IsExist tells whether err says that a file exists already.
func IsExist(err error) bool { return real.IsExist(err) }
