package main

import (
	"os"
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
	testscript.Run(t, testscript.Params{Dir: "../../../testdata/script", UpdateScripts: os.Getenv("UPDATE_SCRIPTS") != ""})
}
