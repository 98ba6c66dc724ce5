package notebook

import (
	"crypto/sha256"
	"encoding/hex"
	"fmt"
)

// Upgrade makes a notebook of version 4.0 to 4.4 one of 4.5: every cell gets an
// id, made from its place and source, so that the same notebook gets the same
// ids. Ids that are missing, malformed or taken are replaced in any version.
func (n *Notebook) Upgrade() {
	if n.Major == Major && n.Minor < Minor {
		n.Minor = Minor
	}
	taken := make(map[string]bool, len(n.Cells))
	for i := range n.Cells {
		c := &n.Cells[i]
		for try := 0; !validID(c.ID) || taken[c.ID]; try++ {
			sum := sha256.Sum256(fmt.Appendf(nil, "%d\x00%d\x00%s\x00%s", try, i, c.Type, c.Source))
			c.ID = hex.EncodeToString(sum[:6])
		}
		taken[c.ID] = true
	}
}

// validID tells whether an id is 1 to 64 of A–Z a–z 0–9 - _.
func validID(id string) bool {
	if len(id) < 1 || len(id) > 64 {
		return false
	}
	for i := 0; i < len(id); i++ {
		switch c := id[i]; {
		case 'a' <= c && c <= 'z', 'A' <= c && c <= 'Z', '0' <= c && c <= '9', c == '-', c == '_':
		default:
			return false
		}
	}
	return true
}
