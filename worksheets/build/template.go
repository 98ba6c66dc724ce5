package build

import _ "embed"

// Template is a small worksheet to write over, which builds as it is.
//
//go:embed template/worksheet.md
var Template []byte
