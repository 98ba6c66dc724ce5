package server

import (
	"fmt"
	"path"
	"strings"

	"counterpoise/kernel/wire"
)

const (
	// maxHistory bounds the cells that are remembered, the last ones.
	maxHistory = 2000
	// maxHistoryText bounds what is kept of a cell's input and of its output,
	// in bytes.
	maxHistoryText = 16 << 10
	// historySession is the number of the only session that is kept.
	historySession = 1
)

// An entry is one cell that ran.
type entry struct {
	line          int
	input, output string
}

// history is the cells of this session, in order.
type history struct{ entries []entry }

func (h *history) add(e entry) {
	e.input, e.output = shorten(e.input), shorten(e.output)
	if len(h.entries) == maxHistory {
		h.entries = append(h.entries[:0], h.entries[1:]...)
	}
	h.entries = append(h.entries, e)
}

func shorten(text string) string {
	if len(text) > maxHistoryText {
		return strings.Clone(strings.ToValidUTF8(text[:maxHistoryText], ""))
	}
	return text
}

func (s *Server) historyRequest(r *request) error {
	var c wire.HistoryRequest
	if err := decode(r, &c); err != nil {
		return err
	}
	var found []entry
	switch c.Access {
	case "tail":
		found = s.history.entries
	case "range":
		found = s.history.between(c)
	case "search":
		found = s.history.matching(c.Pattern, c.Unique)
	default:
		return fmt.Errorf("history_request: hist_access_type %q: use tail, range or search", c.Access)
	}
	if c.Access != "range" && c.N != nil {
		found = found[max(0, len(found)-max(0, *c.N)):]
	}
	reply := wire.HistoryReply{Status: "ok", History: make([][3]any, 0, len(found))}
	for _, e := range found {
		row := [3]any{historySession, e.line, e.input}
		if c.Output {
			row[2] = [2]any{e.input, orNull(e.output)}
		}
		reply.History = append(reply.History, row)
	}
	s.reply(r, "history_reply", reply)
	return nil
}

func orNull(text string) any {
	if text == "" {
		return nil
	}
	return text
}

// between returns the cells from Start up to but not including Stop. Session 0
// is this one; no other is kept.
func (h *history) between(c wire.HistoryRequest) []entry {
	if c.Session != 0 && c.Session != historySession {
		return nil
	}
	var found []entry
	for _, e := range h.entries {
		if e.line >= c.Start && (c.Stop == nil || e.line < *c.Stop) {
			found = append(found, e)
		}
	}
	return found
}

// matching returns the cells whose input fits a glob pattern; with unique, of
// equal inputs only the last.
func (h *history) matching(pattern string, unique bool) []entry {
	last := map[string]int{}
	for _, e := range h.entries {
		last[e.input] = e.line
	}
	var found []entry
	for _, e := range h.entries {
		if glob(pattern, e.input) && (!unique || last[e.input] == e.line) {
			found = append(found, e)
		}
	}
	return found
}

// glob matches as a file name pattern does, but * and ? match slashes and line
// ends as well.
func glob(pattern, text string) bool {
	const stand = "\x01"
	hide := strings.NewReplacer("/", stand)
	ok, err := path.Match(hide.Replace(pattern), hide.Replace(text))
	return err == nil && ok
}
