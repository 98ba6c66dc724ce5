package session

import (
	"context"

	"counterpoise/kernel/server"
)

// Complete returns what could stand at a place.
func (s *Session) Complete(ctx context.Context, code string, pos int) server.Completion {
	return server.Completion{Start: pos, End: pos}
}

// Inspect describes the name at a place.
func (s *Session) Inspect(ctx context.Context, code string, pos, detail int) server.Inspection {
	return server.Inspection{}
}

// IsComplete tells whether code could run as it stands.
func (s *Session) IsComplete(code string) server.Completeness {
	return server.Completeness{Status: "unknown"}
}
