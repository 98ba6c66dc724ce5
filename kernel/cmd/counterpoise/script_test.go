package main

import (
	"os"
	"path/filepath"
	"testing"

	"github.com/rogpeppe/go-internal/testscript"
)

// TestMain lets scripts run the program itself as "counterpoise".
func TestMain(m *testing.M) {
	testscript.Main(m, map[string]func(){
		"counterpoise": main,
	})
}

// Every script in testdata/script says in its first line what it shows.
func TestScripts(t *testing.T) {
	machines, err := filepath.Abs("../../../worksheets/marking/machines")
	if err != nil {
		t.Fatal(err)
	}
	testscript.Run(t, testscript.Params{
		Dir: "../../../testdata/script", UpdateScripts: os.Getenv("UPDATE_SCRIPTS") != "",
		Setup: func(e *testscript.Env) error {
			e.Setenv("MACHINES", machines)
			return nil
		},
	})
}
