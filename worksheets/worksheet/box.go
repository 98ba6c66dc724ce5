package worksheet

import "counterpoise/worksheets/seal"

// openBox opens the sealed key of a question.
func openBox(q Sealed) (checker, error) { return seal.Open(q.Box) }
