package session

import (
	"go/types"
	"strings"

	"counterpoise/kernel/symbols"
)

// cellPackage declares what every cell has without importing it.
const cellPackage = "counterpoise/kernel/display/cell"

// predeclared returns what name means where no cell declares it.
func (s *Session) predeclared(name string) types.Object {
	pkg, err := s.packages.original(cellPackage)
	if err != nil {
		return nil
	}
	obj := pkg.Scope().Lookup(name)
	if obj == nil || !obj.Exported() {
		return nil
	}
	return obj
}

// importFor returns the package that a name not declared probably means.
func (s *Session) importFor(name string) string {
	if list := symbols.Named(name); len(list) > 0 && !strings.Contains(name, ".") {
		return list[0]
	}
	return ""
}
